"""What needs somebody, when, and who is told: pure."""
