"""The commands a coach types, by subject; each reads its options and calls one function."""
