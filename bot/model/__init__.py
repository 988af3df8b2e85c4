"""The vocabulary: what is said, kept and sent. Imports nothing of ours."""
