"""What the service can be asked to do: each use-case owns its transaction and its permission."""
