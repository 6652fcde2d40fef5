"""What the flight command reads, computes and lists."""
