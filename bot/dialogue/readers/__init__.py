"""What people type, read without adding to it: pure functions from text to values."""
