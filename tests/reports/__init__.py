"""What leaves the logbook: JSON, CSV, tables."""
