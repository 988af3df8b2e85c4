"""What is said back: pure. Values and `now` in; entries, replies and the new state out."""
