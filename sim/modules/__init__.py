"""Control modules: inputs -> decision -> outputs, as readable rules and never as code."""
