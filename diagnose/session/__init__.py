"""One visit as a frozen value, changed only by events; every front end draws it and sends events."""
