"""The web layer: translates JSON to the engine's orders and its answers to JSON."""
