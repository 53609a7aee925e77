"""A person's own words -> the complaint, the facts and the dangers in them."""
