"""The worksheet: one local page from a folder of clips and pictures to a built handout."""
