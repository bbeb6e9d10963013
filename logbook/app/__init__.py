"""The terminal app: screens, widgets, keys, and the one place where threads are used."""
