//! What is read of the conditions on site.

/// Something that is read of the conditions on site.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Quantity {
    /// Air temperature.
    Air,
    /// Relative humidity.
    Humidity,
    /// Surface temperature of the wall.
    Surface,
    /// Wind.
    Wind,
    /// Whether it rains: every reading says so.
    Rain,
}

impl Quantity {
    /// The word for it.
    pub fn word(self) -> &'static str {
        match self {
            Self::Air => "air",
            Self::Humidity => "humidity",
            Self::Surface => "surface",
            Self::Wind => "wind",
            Self::Rain => "rain",
        }
    }

    /// How it is given on the command line.
    pub fn option(self) -> &'static str {
        match self {
            Self::Air => "--air C",
            Self::Humidity => "--humidity PCT",
            Self::Surface => "--surface C",
            Self::Wind => "--wind KMH",
            Self::Rain => "--rain or --dry",
        }
    }
}
