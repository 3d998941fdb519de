"""The web app: pages over the services. A route parses, calls and renders; arithmetic is done elsewhere."""
