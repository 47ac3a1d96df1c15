"""Shows the result and decides nothing: preview, pictures, JSON, and the files on disk."""
