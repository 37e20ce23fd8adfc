-- Entries as they were filed, and who may add which. docs/office.md says it in words.

CREATE SCHEMA cladlog;
REVOKE ALL ON SCHEMA cladlog FROM PUBLIC;

-- The roles belong to the whole server: another database of it may have made them.
DO $$ BEGIN CREATE ROLE crew NOLOGIN; EXCEPTION WHEN duplicate_object OR unique_violation THEN NULL; END $$;
DO $$ BEGIN CREATE ROLE office NOLOGIN; EXCEPTION WHEN duplicate_object OR unique_violation THEN NULL; END $$;
GRANT USAGE ON SCHEMA cladlog TO crew, office;

CREATE TABLE cladlog.migration (
    number integer PRIMARY KEY,
    applied_at timestamptz NOT NULL DEFAULT now()
);

CREATE TABLE cladlog.job (
    id integer GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    key text NOT NULL UNIQUE,
    -- Hash of the entry that set it up: of two jobs with the same key only one can be here.
    set_up bytea,
    -- How many entries it has: whoever replayed fewer has newer ones to read.
    entries bigint NOT NULL DEFAULT 0
);

CREATE TABLE cladlog.book (
    id integer GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    job integer NOT NULL REFERENCES cladlog.job,
    -- A fork has no book here: it is refused.
    device text NOT NULL CHECK (device ~ '^[a-z0-9]{1,32}$'),
    -- The login whose push began it.
    begun_by name NOT NULL,
    -- Begun for the crew that writes it by another that had it by merge, or by the office: the crew takes it over.
    carried boolean NOT NULL,
    begun_at timestamptz NOT NULL DEFAULT now(),
    -- Number and hash of its newest entry.
    seq bigint NOT NULL DEFAULT 0,
    hash bytea NOT NULL DEFAULT decode(repeat('00', 32), 'hex'),
    UNIQUE (job, device)
);
CREATE INDEX book_begun_by ON cladlog.book (begun_by);

-- A partition is one in sixteen jobs: each stays small enough to be vacuumed, copied and indexed by itself.
CREATE TABLE cladlog.entry (
    -- Both from cladlog.book, by cladlog.add alone: a foreign key would be looked up once for every entry.
    job integer NOT NULL,
    book integer NOT NULL,
    seq bigint NOT NULL CHECK (seq > 0),
    hash bytea NOT NULL,
    -- The RFC 8785 form without the hash, byte for byte: what was hashed.
    line text NOT NULL,
    PRIMARY KEY (job, book, seq),
    CHECK (hash = sha256(convert_to(line, 'UTF8')))
) PARTITION BY HASH (job);

CREATE FUNCTION cladlog.refuse_change() RETURNS trigger
LANGUAGE plpgsql SET search_path = pg_catalog AS $$
BEGIN
    IF TG_OP = 'DELETE' AND current_setting('cladlog.deletes_job', true) = OLD.job::text THEN
        RETURN OLD;
    END IF;
    RAISE EXCEPTION 'entries are only added, never changed or removed'
        USING ERRCODE = 'restrict_violation', HINT = 'a whole job is deleted by cladlog.delete_job(key)';
END $$;

CREATE TRIGGER append_only BEFORE UPDATE OR DELETE ON cladlog.entry
    FOR EACH ROW EXECUTE FUNCTION cladlog.refuse_change();
CREATE TRIGGER never_emptied BEFORE TRUNCATE ON cladlog.entry
    FOR EACH STATEMENT EXECUTE FUNCTION cladlog.refuse_change();

DO $$
BEGIN
    FOR part IN 0..15 LOOP
        EXECUTE format('CREATE TABLE cladlog.entry_%s PARTITION OF cladlog.entry
            FOR VALUES WITH (MODULUS 16, REMAINDER %s)', part, part);
        EXECUTE format('CREATE TRIGGER never_emptied BEFORE TRUNCATE ON cladlog.entry_%s
            FOR EACH STATEMENT EXECUTE FUNCTION cladlog.refuse_change()', part);
    END LOOP;
END $$;

-- A crew sees the books that its login began, and their jobs; the office sees all.
ALTER TABLE cladlog.job ENABLE ROW LEVEL SECURITY;
ALTER TABLE cladlog.book ENABLE ROW LEVEL SECURITY;
ALTER TABLE cladlog.entry ENABLE ROW LEVEL SECURITY;
CREATE POLICY crew_reads ON cladlog.book FOR SELECT TO crew USING (begun_by = session_user);
CREATE POLICY crew_reads ON cladlog.job FOR SELECT TO crew USING (id IN (SELECT job FROM cladlog.book));
CREATE POLICY crew_reads ON cladlog.entry FOR SELECT TO crew USING (book IN (SELECT id FROM cladlog.book));
CREATE POLICY office_reads ON cladlog.book FOR SELECT TO office USING (true);
CREATE POLICY office_reads ON cladlog.job FOR SELECT TO office USING (true);
CREATE POLICY office_reads ON cladlog.entry FOR SELECT TO office USING (true);
GRANT SELECT ON cladlog.job, cladlog.book, cladlog.entry, cladlog.migration TO crew, office;

-- Whether a login may add to any book: whoever owns the tables.
CREATE FUNCTION cladlog.is_owner() RETURNS boolean
LANGUAGE sql STABLE SECURITY DEFINER SET search_path = pg_catalog, pg_temp AS
$$ SELECT pg_has_role(session_user, current_user, 'USAGE') $$;

-- What the server has of the books of a job, of which the caller names the newest entry that it has itself: how far
-- each is there, whether that entry is, and whether the caller may add to it. `own` is how the ids of the
-- caller's own books begin.
CREATE FUNCTION cladlog.books_there(of_job text, own text, devices text[], numbers bigint[], hashes text[])
RETURNS TABLE (device text, seq bigint, hash text, may_add boolean, has boolean)
LANGUAGE sql STABLE SECURITY DEFINER SET search_path = pg_catalog, pg_temp AS $$
    SELECT b.device, b.seq, CASE WHEN may.add THEN encode(b.hash, 'hex') END, may.add,
        b.seq = 0 OR EXISTS (
            SELECT FROM cladlog.entry e
            WHERE e.job = b.job AND e.book = b.id AND e.seq = given.seq AND encode(e.hash, 'hex') = given.hash
        )
    FROM unnest(devices, numbers, hashes) AS given (device, seq, hash)
    JOIN cladlog.book b ON b.device = given.device
    JOIN cladlog.job j ON j.id = b.job AND j.key = of_job,
    LATERAL (SELECT b.begun_by = session_user OR cladlog.is_owner()
        OR b.carried AND left(b.device, 8) = own AS add) AS may
$$;

CREATE TYPE cladlog.given AS (
    place integer, device text, seq bigint, prev text, hash text, job text, sets_up boolean, line text
);

-- Adds entries to the books of a job, all or none. What is there already and the same is passed over; what doesn't fit
-- is refused (SQLSTATE CL001, the id of the
-- entry in DETAIL, what clears it in HINT). Gives the number of entries that are new.
CREATE FUNCTION cladlog.add(of_job text, own text, lines text[], hashes text[]) RETURNS bigint
LANGUAGE plpgsql SECURITY DEFINER SET search_path = pg_catalog, pg_temp AS $$
DECLARE
    all_given cladlog.given[];
    the_job cladlog.job;
    wrong record;
    added bigint;
    damage constant text := 'see the whole damage with cladlog verify; restore the file from a backup';
BEGIN
    SELECT array_agg(ROW(g.place, e.device, e.seq, e.prev, g.hash, e.body ->> 'job', e.kind = 'job-added', g.line)::cladlog.given)
    INTO all_given
    FROM unnest(lines, hashes) WITH ORDINALITY AS g (line, hash, place),
        jsonb_to_record(g.line::jsonb) AS e (device text, seq bigint, prev text, kind text, body jsonb);
    IF all_given IS NULL THEN
        RETURN 0;
    END IF;

    -- From here on nobody else adds to this job.
    INSERT INTO cladlog.job (key) VALUES (of_job) ON CONFLICT DO NOTHING;
    SELECT * INTO STRICT the_job FROM cladlog.job WHERE key = of_job FOR UPDATE;

    SELECT g.device, g.seq, 'it sets up another job with the same key' AS what,
        'set one of the two up again under another key: cladlog job copy KEY NEW' AS clears INTO wrong
    FROM unnest(all_given) AS g WHERE g.sets_up AND decode(g.hash, 'hex') <> coalesce(the_job.set_up, decode(g.hash, 'hex'));
    IF NOT FOUND THEN
        SELECT g.device, g.seq, 'it sets the job up again' AS what, damage AS clears INTO wrong
        FROM unnest(all_given) AS g WHERE g.sets_up ORDER BY g.place OFFSET 1 LIMIT 1;
    END IF;
    IF FOUND THEN
        RAISE EXCEPTION '%', wrong.what
            USING ERRCODE = 'CL001', DETAIL = wrong.device || '-' || wrong.seq, HINT = wrong.clears;
    END IF;

    -- A book that was begun for its crew is taken over when the crew itself comes.
    UPDATE cladlog.book b SET begun_by = session_user, carried = false
    WHERE b.job = the_job.id AND b.carried AND left(b.device, 8) = own AND NOT cladlog.is_owner()
        AND b.device IN (SELECT g.device FROM unnest(all_given) AS g);
    INSERT INTO cladlog.book (job, device, begun_by, carried)
    SELECT DISTINCT the_job.id, g.device, session_user, cladlog.is_owner() OR left(g.device, 8) <> own
    FROM unnest(all_given) AS g
    ON CONFLICT DO NOTHING;

    SELECT f.device, f.seq, f.what, CASE
        WHEN f.what LIKE 'another login%'
            THEN 'push with the login that began it, or have the owner of the office hand the book over: docs/office.md'
        WHEN f.what LIKE 'the office has another%'
            THEN 'see where they part: cladlog office pull --job KEY FILE.jsonl, then cladlog verify --against FILE.jsonl'
        ELSE damage
    END AS clears INTO wrong FROM (
        SELECT g.device, g.seq, g.place, CASE
            WHEN g.hash IS DISTINCT FROM encode(sha256(convert_to(g.line, 'UTF8')), 'hex')
                THEN 'its text does not fit its hash: it was changed after it was recorded'
            WHEN g.job IS DISTINCT FROM of_job
                THEN 'it is of job ' || coalesce(g.job, '?') || ', not of ' || of_job
            WHEN NOT (b.begun_by = session_user OR cladlog.is_owner())
                THEN 'another login began this book, and only that one adds to it'
            WHEN g.seq <= b.seq AND decode(g.hash, 'hex') IS DISTINCT FROM (
                    SELECT e.hash FROM cladlog.entry e
                    WHERE e.job = the_job.id AND e.book = b.id AND e.seq = g.seq
                )
                THEN 'the office has another entry of this number: the book forked, or one of the two was forged'
            WHEN g.seq > b.seq AND g.seq <> coalesce(g.number, b.seq) + 1
                THEN 'entries are missing before it: the office has ' || b.seq
            WHEN g.seq > b.seq AND g.prev IS DISTINCT FROM coalesce(g.before, encode(b.hash, 'hex'))
                THEN 'it does not follow from the entry before it: one of the two was changed or replaced'
        END AS what
        FROM (
            SELECT g.*, lag(g.seq) OVER book AS number, lag(g.hash) OVER book AS before
            FROM unnest(all_given) AS g WINDOW book AS (PARTITION BY g.device ORDER BY g.seq, g.place)
        ) AS g
        JOIN cladlog.book b ON b.job = the_job.id AND b.device = g.device
    ) AS f WHERE f.what IS NOT NULL ORDER BY f.place LIMIT 1;
    IF FOUND THEN
        RAISE EXCEPTION '%', wrong.what
            USING ERRCODE = 'CL001', DETAIL = wrong.device || '-' || wrong.seq, HINT = wrong.clears;
    END IF;

    INSERT INTO cladlog.entry (job, book, seq, hash, line)
    SELECT the_job.id, b.id, g.seq, decode(g.hash, 'hex'), g.line
    FROM unnest(all_given) AS g
    JOIN cladlog.book b ON b.job = the_job.id AND b.device = g.device AND g.seq > b.seq;
    GET DIAGNOSTICS added = ROW_COUNT;
    IF added > 0 THEN
        UPDATE cladlog.book b SET seq = newest.seq, hash = decode(newest.hash, 'hex')
        FROM (SELECT DISTINCT ON (g.device) g.device, g.seq, g.hash
            FROM unnest(all_given) AS g ORDER BY g.device, g.seq DESC) AS newest
        WHERE b.job = the_job.id AND b.device = newest.device AND newest.seq > b.seq;
        UPDATE cladlog.job SET entries = entries + added,
            set_up = coalesce(set_up, (SELECT decode(g.hash, 'hex') FROM unnest(all_given) AS g WHERE g.sets_up))
        WHERE id = the_job.id;
        PERFORM pg_notify('cladlog_entry', of_job);
    END IF;
    RETURN added;
END $$;

-- Deletes a job with all that was recorded of it. Only for whoever owns the tables.
CREATE FUNCTION cladlog.delete_job(of_job text) RETURNS bigint
LANGUAGE plpgsql SET search_path = pg_catalog, pg_temp AS $$
DECLARE
    gone integer;
    deleted bigint;
BEGIN
    SELECT id INTO gone FROM cladlog.job WHERE key = of_job FOR UPDATE;
    IF NOT FOUND THEN
        RAISE EXCEPTION 'there is no job %', of_job;
    END IF;
    PERFORM set_config('cladlog.deletes_job', gone::text, true);
    DELETE FROM cladlog.entry WHERE job = gone;
    GET DIAGNOSTICS deleted = ROW_COUNT;
    PERFORM set_config('cladlog.deletes_job', '', true);
    DELETE FROM cladlog.book WHERE job = gone;
    DELETE FROM cladlog.job WHERE id = gone;
    PERFORM pg_notify('cladlog_entry', of_job);
    RETURN deleted;
END $$;

REVOKE ALL ON ALL FUNCTIONS IN SCHEMA cladlog FROM PUBLIC;
GRANT EXECUTE ON FUNCTION cladlog.books_there, cladlog.add, cladlog.is_owner TO crew;
REVOKE ALL ON TYPE cladlog.given FROM PUBLIC;
