"""Values in, values out: no clock, no file, no network, no framework, no database."""
