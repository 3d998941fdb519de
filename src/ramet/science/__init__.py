"""Published relations and the models built from them: arrays in, arrays out; knows numbers, not pieces."""
