"""One module for each kind of block: its data in, pieces of a page out."""
