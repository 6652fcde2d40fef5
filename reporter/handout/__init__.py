"""Everything about one lesson from file to handout; ``build`` is its table of contents."""
