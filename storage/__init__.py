"""The memory: the only SQL. Imports nothing of the bot but its model."""
