"""Where the air around a journey's boxes comes from: a record, a file, the network, or a month's normals."""
