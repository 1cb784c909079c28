"""The panels of the bench, one a file: what it shows (.py), its drawing (.js), its style (.css)."""
