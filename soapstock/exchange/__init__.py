"""Import and export: CSV, JSON, iCalendar."""
