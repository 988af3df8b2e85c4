"""Until when a cooler stays cold: what is known of it, and an ensemble of what may follow."""
