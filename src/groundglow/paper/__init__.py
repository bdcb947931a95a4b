"""What several steps need to put something on paper: charts, scale bars, and the typesetter with its common style."""
