"""The shape of a hose between two held ends."""
