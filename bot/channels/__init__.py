"""The ways in which texts come in and go out, one module each."""
