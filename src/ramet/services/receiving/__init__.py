"""The parts of what a receiving tank says about a set of corals; `services.tank` puts them together."""
