"""The panels of the bench, one a file: what each shows (.py), how it is drawn (.js) and styled (.css)."""
