"""As-built readings against the promise."""
