"""The vehicle and the instruments: circuit files, solved circuits, readings.

Knows nothing of students, cases, scores or notebooks. Data flows one way:
circuit file -> circuit -> network -> solution -> reading.
"""
