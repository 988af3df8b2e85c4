"""The pages: the web chat drawn as a field log, and the door to it."""
