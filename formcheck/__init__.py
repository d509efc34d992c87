"""formcheck reviews a skincare formula before anything is weighed."""

__version__ = "0.1.0"
