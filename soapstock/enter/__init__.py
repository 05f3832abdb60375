"""One fact a function: judged, then written."""
