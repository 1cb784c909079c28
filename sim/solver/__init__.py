"""Steady states of vehicle circuits: elimination program, kernel, batched solution."""
