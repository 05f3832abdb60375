"""One user action a function: compute, save, return a result. Every face calls these."""
