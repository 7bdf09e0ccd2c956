"""Template tags of the assessments pages."""
