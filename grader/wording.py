"""Actions and places in plain words."""

from __future__ import annotations

from sim.action import Action
from sim.quantity import write


def describe(action: Action) -> str:
    """Return an action as a technician would say it."""
    verb, target = action.verb, action.target
    if verb in ("set", "listen"):
        settings = ", ".join(f"{control} {position}" for control, position in action.settings)
        return f"set {settings}" if verb == "set" else f"listened to {target}, {settings}"
    if verb == "measure":
        return f"{target} from {action.red} to {action.black}"
    if verb == "lamp":
        return f"test lamp from {action.red} to {action.black}"
    if verb in ("swap", "bridge"):
        done = "exchanged" if verb == "swap" else "bridged"
        return f"{done} {action.red} and {action.black}"
    if verb == "wait":
        return f"waited {write(action.seconds / 60, 'number')} min"
    words = {
        "clamp": f"clamp on {target}",
        "look": f"looked at the {target}",
        "feel": f"felt {target}",
        "watch": f"watched: {target}",
        "renew": f"fitted a new {target}",
        "unbridge": "took the jumper off",
        "unplug": f"unplugged {target}",
        "plug": f"plugged {target} in",
        "pull": f"pulled {target}",
        "insert": f"put {target} back",
    }
    return words[verb]
