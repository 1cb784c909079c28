"""Diagnosis of control units: trouble codes and diagnostic services, as bytes.

`codes`, `memory`, `scaling`, `parameters`, `unit`, `server` and the services are pure: data in,
data out. Only `bus` and `tester` (python-can, can-isotp, udsoncan) and `doip` (sockets) are edges.
"""
