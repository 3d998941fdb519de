"""Papers of a shipment: values in, bytes out."""
