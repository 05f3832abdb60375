"""What is asked question by question, with the commands' own work behind each answer."""
