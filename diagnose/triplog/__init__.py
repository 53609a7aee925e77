"""Trip logs: rows -> episodes -> tests -> patterns with their strength. Pure arithmetic; files are read elsewhere."""
