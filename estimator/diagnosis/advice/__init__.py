"""What to do next and what it may come to: costs, tests one step ahead, the price band."""
