//! TODO
/// x
pub fn rod_pages(_marks: &[super::courses::Mark]) -> Vec<String> {
    Vec::new()
}
