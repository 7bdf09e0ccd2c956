"""The calculation: trials in, records out. Outsiders import from here, never from inside."""
