"""What a conversion is: frozen records, one module a noun."""
