"""Field cases: solved visits written down with their truth, which judge the tool by gates it did not invent."""
