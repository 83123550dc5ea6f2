"""Who signs: keys, certificates, passphrases."""
