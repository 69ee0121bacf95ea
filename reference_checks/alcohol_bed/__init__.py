"""A measured breakthrough curve from a textbook, from memory."""
