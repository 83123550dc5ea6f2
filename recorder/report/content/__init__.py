"""Job to the typed context of its report."""
