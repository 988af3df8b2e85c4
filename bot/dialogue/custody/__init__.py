"""Custody in the dialogue: it moves when both have spoken, and the receiver reads the seal unshown."""
