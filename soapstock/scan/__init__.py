"""Reading a lot code from typed text, a wedge scanner or a picture."""
