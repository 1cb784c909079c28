"""Instruments, one a file: what they put between the leads, and what they show."""
