"""Instruments, one a file: what they put between the leads, and what they show.

`verb` says what an instrument is, `registry` lists them all.
"""
