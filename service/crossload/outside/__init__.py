"""What lies outside the machine, called by use-cases after the commit."""
