"""Products in visible layers: ratio, window of allowed ratios, density, the bottle."""
