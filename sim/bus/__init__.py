"""The CAN pair as a circuit: who is heard by whom, what a meter and an oscilloscope see of it.

`message` says what a unit sends, `ports` finds transceivers in a network, `levels` solves the pair
with each of them dominant in turn, `counters` keeps the error counters of ISO 11898-1, `standing`
puts both together, `live` gives the averages of a busy bus and `trace` its bits in time.
"""
