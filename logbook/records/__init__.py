"""What a pull, a set-up, an engine is: frozen dataclasses, units in the field names."""
