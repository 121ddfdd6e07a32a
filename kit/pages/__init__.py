"""The lessons as pages of a folder: read in any browser, without Python and without a network."""
