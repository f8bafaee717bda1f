"""The timer that makes the sheet each morning: when it is due, and how each system is told to knock."""
