"""What is bought: ingredients, a maker's own additions, regulation limits, and the source of every figure."""
