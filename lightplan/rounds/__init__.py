"""The sheets of many sites in one go: shared forecasts, failures listed, one page of contents."""
