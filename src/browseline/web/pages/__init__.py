"""One file a page: read the request, call the library once, answer from one record."""
