//! Writes drawings at full scale: paper, vector and cutting files. Knows no shoe.
