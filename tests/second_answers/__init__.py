"""Physics that only tests ask: second answers for working rows, and for published numbers."""
