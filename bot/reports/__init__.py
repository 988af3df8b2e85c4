"""Values to documents: pure."""
