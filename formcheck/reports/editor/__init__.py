"""What an editor shows of a formula while it is written: remarks, cards on hover, proposals, corrections, the outline.

Everything but server.py works on plain text and numbers and knows nothing of the protocol.
"""
