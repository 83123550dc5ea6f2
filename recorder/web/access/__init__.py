"""Who may see and change anything: hosts, devices, pairing, certificates."""
