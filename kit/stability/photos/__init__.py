"""Photos of bottles: their files, beside a log, and the colour of a patch. Who attaches none may skip it."""
