"""Rules of our own workshop."""
