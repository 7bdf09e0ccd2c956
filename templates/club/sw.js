// The floor fills this in.
