"""The widgets the screens are made of. They draw; they compute and store nothing."""
