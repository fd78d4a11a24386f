"""Feed, and later money, carbon and work, by what happened and what is planned."""
