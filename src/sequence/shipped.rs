//! The sequences that come with the program, from `checklists/`.

/// Key and text of each.
pub static SHIPPED: &[(&str, &str)] = &[
    ("panels-on-clips", include_str!("../../checklists/panels-on-clips.toml")),
    ("planks-lapped", include_str!("../../checklists/planks-lapped.toml")),
    ("weatherboards-cavity", include_str!("../../checklists/weatherboards-cavity.toml")),
];

/// The text of the shipped sequence of this key.
pub fn shipped(key: &str) -> Option<&'static str> {
    SHIPPED.iter().find(|(shipped, _)| *shipped == key).map(|(_, text)| *text)
}
