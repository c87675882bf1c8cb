"""Item catalogues of the invented aircraft types: plain data, each thing said once. All numbers are made up."""
