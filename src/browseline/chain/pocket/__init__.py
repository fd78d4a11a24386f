"""What a phone holds when there is no signal, and how its entries come home."""
