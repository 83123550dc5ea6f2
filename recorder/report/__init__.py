"""Job to HTML to PDF to signature, and the verification of what was signed."""
