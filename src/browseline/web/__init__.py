"""The pages: the record and the chain in a browser, on a phone, with or without a signal."""
