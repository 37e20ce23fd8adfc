//! The joints.

use crate::handover::model::{Document, WeatherTold};
use crate::moment::Moment;

/// The table of the joints as CSV.
pub fn joints(document: &Document) -> Vec<Vec<String>> {
    let heading = [
        "joint",
        "wall",
        "primed_at",
        "opens_at",
        "closes_at",
        "gunned_at",
        "state",
        "says",
        "reading",
        "reading_age_min",
        "surface_c",
        "dew_margin_c",
        "rain",
        "in_sun",
        "primed_reading",
        "primed_reading_age_min",
        "primed_surface_c",
        "primed_dew_margin_c",
        "primed_rain",
    ];
    let yes = |flag: bool| if flag { "yes" } else { "no" }.to_owned();
    let time = |at: &Option<Moment>| at.as_ref().map(Moment::to_string).unwrap_or_default();
    let mut rows = vec![heading.map(str::to_owned).to_vec()];
    rows.extend(document.joints.iter().map(|joint| {
        let read = |weather: &Option<WeatherTold>| match weather {
            Some(weather) => [
                weather.reading.clone(),
                weather.age_min.to_string(),
                weather.surface_c.to_string(),
                weather.dew_margin_c.map(|margin| margin.to_string()).unwrap_or_default(),
                yes(weather.rain),
            ],
            None => std::array::from_fn(|_| String::new()),
        };
        let mut row = vec![
            joint.subject.clone(),
            joint.part.clone(),
            joint.primed_at.to_string(),
            joint.opens_at.to_string(),
            time(&joint.closes_at),
            time(&joint.gunned_at),
            joint.state.to_owned(),
            joint.says.clone(),
        ];
        row.extend(read(&joint.weather));
        row.push(joint.in_sun.map(yes).unwrap_or_default());
        row.extend(read(&joint.primed_in));
        row
    }));
    rows
}
