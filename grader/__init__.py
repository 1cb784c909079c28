"""What a path was worth: policy problems, their least expected minutes, and marks.

Knows nothing of how notebooks look and finds case files by the path it is given.
"""
