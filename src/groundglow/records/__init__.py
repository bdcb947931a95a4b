"""What travels between steps: schema and units only."""
