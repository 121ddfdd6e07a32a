"""The rows into which readings are typed, one below the other, with the keyboard alone."""
