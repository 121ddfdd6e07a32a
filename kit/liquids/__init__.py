"""Real liquids: water from 0 to 100 °C, alcohol and water, and what dissolved salts, sugars and glycols do to it."""
