"""Packed boxes forecast without a ledger."""
