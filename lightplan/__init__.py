"""lightplan: a printed morning sheet of lamp, shade and cover orders for a small greenhouse range."""

__version__ = "0.1.0"
