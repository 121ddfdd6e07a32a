"""The product in hand: one frozen value from which screens, papers and commands are worked out."""
