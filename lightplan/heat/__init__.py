"""House air, and the air and wet medium of each bench, step by step."""
