"""A year of a site: light, heat, lamps, what fits where, and when in the season what is needed."""
