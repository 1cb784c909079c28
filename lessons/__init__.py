"""What people see and touch: circuits, cases, lessons, commands."""
