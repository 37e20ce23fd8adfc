//! The people of a job and what they are.

use super::answers::{Answers, Stop};
use crate::building::{Job, Person};
use crate::cli::prompts::question::{Asker, Question};
use crate::form::{check_person, is_same_name};
use crate::sequence::Sequence;

/// Those of the job before who have roles that the sequence knows, where a lead is among them and they are wanted.
fn people_before(ask: &mut Answers, sequence: &Sequence, before: Option<&Job>) -> Result<Vec<Person>, Stop> {
    let Some(before) = before else { return Ok(Vec::new()) };
    let known = |person: &&Person| person.roles.iter().all(|role| sequence.roles.contains(role));
    let people: Vec<Person> = before.people.iter().filter(known).cloned().collect();
    if !people.iter().any(|person| person.has_any(&["lead".to_owned()])) {
        return Ok(Vec::new());
    }
    let question = Question::yes_no(format!("The people of {}? (n to type others)", before.name), true);
    let wanted = ask.ask(question.above(format!("  {}", people_in_words(&people))))?;
    Ok(if wanted { people } else { Vec::new() })
}

pub fn people_in_words(people: &[Person]) -> String {
    people.iter().map(|p| format!("{} ({})", p.name, p.roles.join(", "))).collect::<Vec<_>>().join(", ")
}

/// Asks for the people one after the other, the lead first; those of the job `before` are offered.
pub fn people(ask: &mut Answers, sequence: &Sequence, before: Option<&Job>) -> Result<Vec<Person>, Stop> {
    let mut people = people_before(ask, sequence, before)?;
    loop {
        let number = people.len() + 1;
        let text = match number {
            1 => "Crew lead".to_owned(),
            _ => format!("Person {number} and what they are (Enter: no more)"),
        };
        let mut question = Question::new(text, |text: &str| {
            if text.is_empty() && number > 1 {
                return Ok(None);
            }
            let person = person(text, sequence, number == 1)?;
            match people.iter().find(|other| is_same_name(&other.name, &person.name)) {
                Some(same) => Err(format!("{} is already on the list", same.name)),
                None => Ok(Some(person)),
            }
        });
        if number == 2 {
            let roles = sequence.roles.join(", ");
            let example =
                sequence.roles.iter().find(|role| *role != "lead" && begun_by(sequence, &role[..1]).len() == 1);
            let example = example
                .map_or_else(String::new, |role| format!("Such as Bea Ruiz {role}, or Bea Ruiz {}. ", &role[..1]));
            question = question.above(format!("{example}What they may be: {roles}."));
        }
        let Some(person) = ask.ask(question)? else { return Ok(people) };
        people.push(person);
    }
}

/// The roles that begin so.
fn begun_by<'s>(sequence: &'s Sequence, text: &str) -> Vec<&'s str> {
    sequence.roles.iter().map(String::as_str).filter(|role| role.starts_with(text)).collect()
}

/// "Bea Ruiz builder": words in small letters at the end are roles, or how roles begin.
fn person(text: &str, sequence: &Sequence, is_lead: bool) -> Result<Person, String> {
    let words: Vec<&str> = text.split([' ', ',']).filter(|word| !word.is_empty()).collect();
    let small = words.iter().rev().take_while(|word| word.chars().all(|c| c.is_lowercase() || c == '-')).count();
    let after_comma = text.split(',').skip(1).map(str::trim);
    if let Some(other) = after_comma.clone().find(|part| part.contains(char::is_uppercase)) {
        return Err(format!("type one person here, and {other} at the next question"));
    }
    let (name, given) = words.split_at(words.len() - small.min(words.len().saturating_sub(1)));
    let mut roles: Vec<String> = Vec::new();
    for word in given {
        match begun_by(sequence, word).as_slice() {
            [role] => roles.push((*role).to_owned()),
            [] => return Err(format!("'{word}' is not one of {}", sequence.roles.join(", "))),
            several => return Err(format!("'{word}' may be {}", several.join(" or "))),
        }
    }
    let usual = if is_lead { "lead" } else { "installer" };
    if roles.is_empty() || is_lead && !roles.iter().any(|role| role == usual) {
        roles.insert(0, usual.to_owned());
    }
    let name = name.join(" ");
    check_person(&name).map_err(|why| format!("the name {why}"))?;
    Ok(Person { name, roles })
}

#[cfg(test)]
mod tests {
    use std::path::Path;

    use super::*;
    use crate::cli::job_files::find_sequence;

    #[test]
    fn names_and_roles_are_told_apart() {
        let sequence = find_sequence("panels-on-clips", Path::new("")).unwrap();
        let read = |text: &str, lead| person(text, &sequence, lead).map(|it| (it.name, it.roles));
        let roles = |roles: &[&str]| roles.iter().map(|role| (*role).to_owned()).collect::<Vec<_>>();
        assert_eq!(read("Ana", true), Ok(("Ana".into(), roles(&["lead"]))));
        assert_eq!(read("Ana de la Cruz", true), Ok(("Ana de la Cruz".into(), roles(&["lead"]))));
        assert_eq!(read("Bea Ruiz builder", false), Ok(("Bea Ruiz".into(), roles(&["builder"]))));
        assert_eq!(read("Tom", false), Ok(("Tom".into(), roles(&["installer"]))));
        assert!(read("Tom king", false).unwrap_err().starts_with("'king' is not one of lead"));
        assert!(read("", true).is_err());
    }
}
