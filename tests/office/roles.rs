//! psql as a crew, trying what it may not; and what the two roles may.

use super::postgres::Office;
use super::{office_as, pulled, small};

const INSUFFICIENT: &str = "permission denied";

#[test]
fn a_crew_sees_the_books_that_its_login_began_and_no_others() {
    let Some(of) = Office::new() else { return };
    let (ana, bo, eve) = (of.login("ana", "crew"), of.login("bo", "crew"), of.login("eve", "office"));
    let (one, two) = (small("one"), small("two"));
    office_as(&one, &of, &ana, &["push"]);
    office_as(&two, &of, &bo, &["push"]);
    let seen =
        "SELECT string_agg(DISTINCT j.key, ',' ORDER BY j.key) FROM cladlog.entry e JOIN cladlog.job j ON j.id = e.job";
    assert_eq!(of.try_as(&ana, seen).as_deref(), Ok("one"));
    assert_eq!(of.try_as(&bo, seen).as_deref(), Ok("two"));
    assert_eq!(of.try_as(&eve, seen).as_deref(), Ok("one,two"));
    assert_eq!(of.try_as(&ana, "SELECT count(*) FROM cladlog.book").as_deref(), Ok("1"));
    assert_eq!(of.try_as(&ana, "SELECT count(*) FROM cladlog.job").as_deref(), Ok("1"));
    // By taking on the role itself it sees nothing of others, and nothing more.
    assert_eq!(of.try_as(&ana, &format!("SET ROLE crew; {seen}")).as_deref(), Ok("one"));
    let said = one.run(["office", "--server", &of.url_of(&ana), "pull", "--job", "two", "two.jsonl"].as_slice());
    assert!(said.exits(2).stderr.contains("no job 'two'"));
    assert!(!pulled(&one, &of, &eve, "two").is_empty());
}

#[test]
fn a_crew_gets_round_nothing_by_psql() {
    let Some(of) = Office::new() else { return };
    let (ana, bo) = (of.login("ana", "crew"), of.login("bo", "crew"));
    let (one, two) = (small("one"), small("two"));
    office_as(&one, &of, &ana, &["push"]);
    office_as(&two, &of, &bo, &["push"]);
    let before = of.sql("SELECT md5(string_agg(e::text, '' ORDER BY job, book, seq)) FROM cladlog.entry e");
    for attempt in [
        "INSERT INTO cladlog.entry (job, book, seq, hash, line) SELECT job, book, seq + 1000, hash, line FROM cladlog.entry",
        "UPDATE cladlog.entry SET line = line || ' '",
        "DELETE FROM cladlog.entry",
        "TRUNCATE cladlog.entry",
        "TRUNCATE cladlog.entry_0",
        "SELECT * FROM cladlog.entry_0",
        "UPDATE cladlog.book SET begun_by = session_user",
        "INSERT INTO cladlog.book (job, device, begun_by, carried) VALUES (1, 'mine', session_user, false)",
        "DELETE FROM cladlog.job",
        "SELECT cladlog.delete_job('one')",
        "ALTER TABLE cladlog.entry DISABLE TRIGGER ALL",
        "ALTER TABLE cladlog.entry DISABLE ROW LEVEL SECURITY",
        "DROP TRIGGER append_only ON cladlog.entry",
        "DROP SCHEMA cladlog CASCADE",
        "CREATE TABLE cladlog.mine ()",
        "CREATE OR REPLACE FUNCTION cladlog.is_owner() RETURNS boolean LANGUAGE sql AS 'SELECT true'",
        "SELECT * FROM cladlog_read.board",
        "SET ROLE office",
        "SET ROLE postgres",
        "SET SESSION AUTHORIZATION postgres",
        "COPY cladlog.entry (line) TO PROGRAM 'cat'",
        "SET session_replication_role = replica",
        "SELECT set_config('cladlog.deletes_job', '1', false); DELETE FROM cladlog.entry WHERE job = 1",
    ] {
        let said = of.try_as(&ana, attempt).expect_err(attempt);
        assert!(said.contains(INSUFFICIENT) || said.contains("must be "), "{attempt}: {said}");
    }
    let after = of.sql("SELECT md5(string_agg(e::text, '' ORDER BY job, book, seq)) FROM cladlog.entry e");
    assert_eq!(before, after);
}

/// What is in the search path of a crew is not what the functions of the office call.
#[test]
fn functions_of_a_crew_are_not_called_with_the_rights_of_the_owner() {
    let Some(of) = Office::new() else { return };
    let ana = of.login("ana", "crew");
    of.sql("CREATE SCHEMA trap; GRANT CREATE, USAGE ON SCHEMA trap TO PUBLIC");
    let trap = "CREATE FUNCTION trap.pg_notify(text, text) RETURNS void LANGUAGE sql AS 'SELECT 1/0';
        CREATE FUNCTION trap.starts_with(text, text) RETURNS boolean LANGUAGE sql AS 'SELECT true';
        CREATE TEMP TABLE entry (job int); SET search_path = trap, pg_temp, pg_catalog;";
    let line = r#"{"body":{"job":"j"},"by":"x","device":"abc","happened_at":"2026-03-02T07:00:00Z","kind":"noted","prev":"0000000000000000000000000000000000000000000000000000000000000000","recorded_at":"2026-03-02T07:00:00Z","seq":1,"version":1}"#;
    let hash = cladlog::digest::sha256_hex(line.as_bytes());
    let add = format!("SELECT cladlog.add('j', 'abc', ARRAY['abc'], ARRAY['{line}'], ARRAY['{hash}'])");
    assert_eq!(of.try_as(&ana, &format!("{trap} {add}")).as_deref(), Ok("1"));
}

/// By the function itself: every lie about an entry is refused, and nothing of the batch is taken.
#[test]
fn the_server_checks_what_the_program_would_have_checked() {
    let Some(of) = Office::new() else { return };
    let (ana, bo) = (of.login("ana", "crew"), of.login("bo", "crew"));
    let line = |job: &str, device: &str, seq: u64, prev: &str| {
        format!(
            r#"{{"body":{{"job":"{job}"}},"by":"x","device":"{device}","happened_at":"2026-03-02T07:00:00Z","kind":"noted","prev":"{prev}","recorded_at":"2026-03-02T07:00:00Z","seq":{seq},"version":1}}"#
        )
    };
    let hash = |line: &str| cladlog::digest::sha256_hex(line.as_bytes());
    let zeros = "0".repeat(64);
    let add = |login: &str, own: &str, lines: &[(&str, &str)]| {
        let (lines, hashes): (Vec<String>, Vec<String>) =
            lines.iter().map(|(line, hash)| (format!("'{line}'"), format!("'{hash}'"))).unzip();
        let statement = format!(
            "SELECT cladlog.add('j', '{own}', array_fill('abc'::text, ARRAY[{}]), ARRAY[{}]::text[], ARRAY[{}]::text[])",
            lines.len(),
            lines.join(","),
            hashes.join(",")
        );
        of.try_as(login, &statement)
    };
    let first = line("j", "abc", 1, &zeros);
    let second = line("j", "abc", 2, &hash(&first));
    let third = line("j", "abc", 3, &hash(&second));
    assert_eq!(add(&ana, "abc", &[(&first, &hash(&first)), (&second, &hash(&second))]).as_deref(), Ok("2"));
    let other_second = second.replace("\"x\"", "\"y\"");
    let wrong_prev = line("j", "abc", 3, &hash(&first));
    let gap = line("j", "abc", 4, &hash(&second));
    for (entry, given, says) in [
        (&third, hash(&first), "does not fit its hash"),
        (&wrong_prev, hash(&wrong_prev), "does not follow from the entry before it"),
        (&gap, hash(&gap), "entries are missing before it"),
        (&other_second, hash(&other_second), "another entry of this number"),
        (&line("k", "abc", 3, &hash(&second)), String::new(), "it is of job k, not of j"),
        (&line("j", "abd", 3, &hash(&second)), String::new(), "a book of another device"),
    ] {
        let given = if given.is_empty() { hash(entry) } else { given };
        let said = add(&ana, "abc", &[(entry, &given)]).unwrap_err();
        assert!(said.contains(says) && said.contains("DETAIL:  abc-"), "{said}");
    }
    assert!(add(&ana, "abc", &[("no JSON", &hash("no JSON"))]).is_err());
    assert!(add(&ana, "abc", &[("{}", &hash("{}"))]).is_err());
    // Another login may not go on with the book, whatever it says its own books are called.
    for own in ["abc", "", "xyz"] {
        let said = add(&bo, own, &[(&third, &hash(&third))]).unwrap_err();
        assert!(said.contains("another login began this book"), "{said}");
    }
    assert_eq!(of.sql("SELECT count(*) FROM cladlog.entry"), "2");
    assert_eq!(add(&ana, "abc", &[(&second, &hash(&second)), (&third, &hash(&third))]).as_deref(), Ok("1"));
}

/// `work` needs no more than a login of its own role.
#[test]
fn a_worker_writes_what_can_be_made_again_and_nothing_else() {
    let Some(of) = Office::new() else { return };
    let (ana, wes) = (of.login("ana", "crew"), of.login("wes", "worker"));
    let site = small("one");
    office_as(&site, &of, &ana, &["push"]);
    assert_eq!(office_as(&site, &of, &wes, &["work", "--once"])["jobs"], 1);
    of.sql("DROP SCHEMA cladlog_read CASCADE");
    assert_eq!(office_as(&site, &of, &wes, &["work", "--once"])["jobs"], 1);
    let eve = of.login("eve", "office");
    assert_eq!(office_as(&site, &of, &wes, &["board"]), office_as(&site, &of, &eve, &["board"]));
    for attempt in [
        "INSERT INTO cladlog.entry (job, book, seq, hash, line) SELECT job, book, seq + 1000, hash, line FROM cladlog.entry",
        "UPDATE cladlog.entry SET line = line || ' '",
        "DELETE FROM cladlog.entry",
        "UPDATE cladlog.book SET begun_by = session_user",
        "DELETE FROM cladlog.job",
        "SELECT cladlog.delete_job('one')",
        "SELECT cladlog.add('one', '', ARRAY['a'], ARRAY['{}'], ARRAY[''])",
        "DROP SCHEMA cladlog_read CASCADE",
        "DROP SCHEMA cladlog CASCADE",
        "CREATE TABLE cladlog_read.mine ()",
        "TRUNCATE cladlog_read.board",
        "SET ROLE crew",
        "SET ROLE postgres",
    ] {
        let said = of.try_as(&wes, attempt).expect_err(attempt);
        assert!(said.contains(INSUFFICIENT) || said.contains("must be "), "{attempt}: {said}");
    }
}

#[test]
fn not_even_the_owner_changes_an_entry_by_mistake() {
    let Some(of) = Office::new() else { return };
    let site = small("one");
    office_as(&site, &of, "postgres", &["push"]);
    for attempt in [
        "UPDATE cladlog.entry SET line = line",
        "DELETE FROM cladlog.entry",
        "TRUNCATE cladlog.entry",
        "TRUNCATE cladlog.entry_3",
    ] {
        let said = of.try_as("postgres", attempt).expect_err(attempt);
        assert!(said.contains("entries are only added"), "{attempt}: {said}");
    }
    let said = of.try_as(
        "postgres",
        "INSERT INTO cladlog.entry SELECT job, book, seq + 1000, hash, line || ' ' FROM cladlog.entry",
    );
    assert!(said.unwrap_err().contains("violates check constraint"));
    // A job is deleted whole, and can be sent again.
    let entries = site.log().len();
    assert_eq!(of.sql("SELECT cladlog.delete_job('one')"), entries.to_string());
    assert_eq!(of.sql("SELECT count(*) FROM cladlog.entry"), "0");
    assert_eq!(office_as(&site, &of, "postgres", &["push"])["sent"], entries);
}
