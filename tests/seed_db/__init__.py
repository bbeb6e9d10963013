"""The demo: its model, its story and the book it builds."""
