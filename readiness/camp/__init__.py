"""One camp, many clients: the camp file, the clients' files or table, and the papers and overview made of them."""
