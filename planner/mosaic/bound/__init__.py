"""How many panels every plan needs: linear and integer programs over intervals of angles."""
