"""Coldjar: the line that people who take oil-spill samples text."""
