"""What was found as numbers with uncertainties and decisions."""
