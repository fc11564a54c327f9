//! Flattens a surface with the least strain, and says how much is left. Knows no shoe.
