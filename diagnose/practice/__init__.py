"""Practice: simulated faulty gates, a coach who knows what an expert would have asked, and mastery over time."""
