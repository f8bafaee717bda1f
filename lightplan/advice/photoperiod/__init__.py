"""Day length: what plants see of it, and the least that makes it longer or shorter."""
