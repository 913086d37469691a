"""HTTP: one module a resource, its schemas first, then its views."""
