"""How a bar dries, what its weigh-ins teach, when it is ready and what looks odd. Pure, numpy."""
