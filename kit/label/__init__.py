"""What stands on the label: ingredient list, allergens, content, cautions, and what is still missing."""
