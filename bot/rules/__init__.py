"""The trade, one file a rule; every function names its source."""
