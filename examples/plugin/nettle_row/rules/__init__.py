"""The rules: one folder a family, one file a rule."""
