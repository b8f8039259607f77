"""What people see: tables, text, the command line, later charts and panels."""
