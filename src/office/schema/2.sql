-- Books that forked and were brought together; entries checked in fewer passes; a role for `office work`.

DROP FUNCTION cladlog.add(text, text, text[], text[]);
DROP FUNCTION cladlog.books_there(text, text, text[], bigint[], text[]);
DROP TYPE cladlog.given;
-- Made again by cladlog.make_read_tables.
DROP SCHEMA IF EXISTS cladlog_read CASCADE;

-- The tail of a book that forked has the name of the book and the first digits of its own first hash. Which of the tails
-- goes by the name of the book is here a matter of which came first; whoever reads names them by the lines alone.
ALTER TABLE cladlog.book DROP CONSTRAINT book_device_check;
ALTER TABLE cladlog.book ADD CONSTRAINT book_device_check CHECK (device ~ '^[a-z0-9]{1,32}(~[0-9a-f]{12})?$');

-- The device whose lines a book holds.
CREATE FUNCTION cladlog.origin(book text) RETURNS text
LANGUAGE sql IMMUTABLE PARALLEL SAFE AS $$ SELECT split_part(book, '~', 1) $$;

-- Whether the caller may add to the books of a device. `own` is how the ids of the caller's own books begin.
CREATE FUNCTION cladlog.may_add(to_book cladlog.book, own text) RETURNS boolean
LANGUAGE sql STABLE AS $$
    SELECT to_book.begun_by = session_user OR cladlog.is_owner() OR to_book.carried AND left(to_book.device, 8) = own
$$;

-- What the server has of the books of a job, of which the caller names the newest entry that it has itself: whether
-- that entry is there, and how far each book of that device is; its hash only for who may add to it.
CREATE FUNCTION cladlog.books_there(of_job text, own text, books text[], numbers bigint[], hashes text[])
RETURNS TABLE (of_book text, has boolean, book text, seq bigint, hash text)
LANGUAGE sql STABLE SECURITY DEFINER SET search_path = pg_catalog, pg_temp AS $$
    SELECT given.book, EXISTS (
            SELECT FROM cladlog.book o
            JOIN cladlog.entry e ON e.job = o.job AND e.book = o.id AND e.seq = given.seq
                AND encode(e.hash, 'hex') = given.hash
            WHERE o.job = j.id AND cladlog.origin(o.device) = cladlog.origin(given.book)
        ), b.device, b.seq, CASE WHEN cladlog.may_add(b, own) THEN encode(b.hash, 'hex') END
    FROM cladlog.job j
    JOIN cladlog.book b ON b.job = j.id
    JOIN unnest(books, numbers, hashes) AS given (book, seq, hash)
        ON cladlog.origin(b.device) = cladlog.origin(given.book)
    WHERE j.key = of_job
$$;

-- Which of a device's entries that the caller has itself are there, in which book, and whether that ends with it: asked
-- only where a book forked.
CREATE FUNCTION cladlog.entries_there(of_job text, of_device text, numbers bigint[], hashes text[])
RETURNS TABLE (hash text, book text, is_end boolean)
LANGUAGE sql STABLE SECURITY DEFINER SET search_path = pg_catalog, pg_temp AS $$
    SELECT given.hash, b.device, e.seq = b.seq
    FROM cladlog.job j
    JOIN cladlog.book b ON b.job = j.id AND cladlog.origin(b.device) = of_device
    CROSS JOIN unnest(numbers, hashes) AS given (seq, hash)
    JOIN cladlog.entry e ON e.job = j.id AND e.book = b.id AND e.seq = given.seq AND encode(e.hash, 'hex') = given.hash
    WHERE j.key = of_job
$$;

CREATE TYPE cladlog.given AS (
    book text, device text, seq bigint, prev text, hash bytea, fits boolean, job text, sets_up boolean
);

-- Adds entries to the books of a job, all or none. What is there already and the same is passed over; what doesn't fit
-- is refused (SQLSTATE CL001, the id of the entry in DETAIL, what clears it in HINT). Gives the number of entries that
-- are new. A tail may begin beside an entry of the same number if it goes by a name of its own: who sends it has both.
CREATE FUNCTION cladlog.add(of_job text, own text, books text[], lines text[], hashes text[]) RETURNS bigint
LANGUAGE plpgsql SECURITY DEFINER SET search_path = pg_catalog, pg_temp AS $$
DECLARE
    all_given cladlog.given[];
    the_job cladlog.job;
    wrong record;
    added bigint;
    damage constant text := 'see the whole damage with cladlog verify; restore the file from a backup';
    parted constant text := 'if two copies of the file were used, merge the other one into this one and push again; '
        'otherwise see where they part: cladlog office pull --job KEY FILE.jsonl, then cladlog verify --against FILE.jsonl';
BEGIN
    -- Everything but the text, read once: each pass below goes over this alone.
    SELECT array_agg(ROW(g.book, e.device, e.seq, e.prev, made.hash, g.hash = encode(made.hash, 'hex'),
        e.body ->> 'job', e.kind = 'job-added')::cladlog.given ORDER BY g.place)
    INTO all_given
    FROM unnest(books, lines, hashes) WITH ORDINALITY AS g (book, line, hash, place),
        jsonb_to_record(g.line::jsonb) AS e (device text, seq bigint, prev text, kind text, body jsonb),
        LATERAL (SELECT sha256(convert_to(g.line, 'UTF8'))) AS made (hash);
    IF all_given IS NULL THEN
        RETURN 0;
    END IF;

    -- From here on nobody else adds to this job.
    INSERT INTO cladlog.job (key) VALUES (of_job) ON CONFLICT DO NOTHING;
    SELECT * INTO STRICT the_job FROM cladlog.job WHERE key = of_job FOR UPDATE;

    -- Whoever sets the job up does so once.
    SELECT g.book, g.seq, CASE WHEN g.hash IS DISTINCT FROM coalesce(the_job.set_up, g.hash)
            THEN 'it sets up another job with the same key' ELSE 'it sets the job up again' END AS what,
        CASE WHEN g.hash IS DISTINCT FROM coalesce(the_job.set_up, g.hash)
            THEN 'set one of the two up again under another key: cladlog job copy KEY NEW' ELSE damage END AS clears
    INTO wrong
    FROM unnest(all_given) WITH ORDINALITY AS g (book, device, seq, prev, hash, fits, job, sets_up, place)
    WHERE g.sets_up AND (g.hash IS DISTINCT FROM coalesce(the_job.set_up, g.hash) OR EXISTS (
        SELECT FROM unnest(all_given) WITH ORDINALITY AS o (book, device, seq, prev, hash, fits, job, sets_up, place)
        WHERE o.sets_up AND o.place < g.place
    )) ORDER BY g.place LIMIT 1;
    IF FOUND THEN
        RAISE EXCEPTION '%', wrong.what
            USING ERRCODE = 'CL001', DETAIL = wrong.book || '-' || wrong.seq, HINT = wrong.clears;
    END IF;

    -- Books that were begun for their crew are taken over when the crew itself comes.
    UPDATE cladlog.book b SET begun_by = session_user, carried = false
    WHERE b.job = the_job.id AND b.carried AND left(b.device, 8) = own AND NOT cladlog.is_owner()
        AND cladlog.origin(b.device) IN (SELECT g.device FROM unnest(all_given) AS g);
    -- A tail belongs to whoever the book that it left belongs to, and goes on from there.
    INSERT INTO cladlog.book (job, device, begun_by, carried, seq, hash)
    SELECT the_job.id, f.book, coalesce(t.begun_by, session_user),
        coalesce(t.carried, cladlog.is_owner() OR left(f.book, 8) <> own), coalesce(p.seq, 0),
        coalesce(p.hash, decode(repeat('00', 32), 'hex'))
    FROM (
        SELECT DISTINCT ON (g.book) g.* FROM (
            SELECT DISTINCT given FROM unnest(books) AS given
            EXCEPT SELECT b.device FROM cladlog.book b WHERE b.job = the_job.id
        ) AS new (book) JOIN unnest(all_given) AS g USING (book) ORDER BY g.book, g.seq
    ) AS f
    LEFT JOIN cladlog.book t ON t.job = the_job.id AND t.device = f.device AND f.book <> f.device
    LEFT JOIN LATERAL (
        SELECT e.seq, e.hash FROM cladlog.book o
        JOIN cladlog.entry e ON e.job = o.job AND e.book = o.id AND e.seq = f.seq - 1 AND encode(e.hash, 'hex') = f.prev
        WHERE o.job = the_job.id AND cladlog.origin(o.device) = f.device
            AND f.book = f.device || '~' || left(encode(f.hash, 'hex'), 12)
            -- Nothing forks where nothing else goes on from there.
            AND EXISTS (
                SELECT FROM cladlog.book s
                JOIN cladlog.entry n ON n.job = s.job AND n.book = s.id AND n.seq = f.seq
                WHERE s.job = the_job.id AND cladlog.origin(s.device) = f.device
                    AND n.line::jsonb ->> 'prev' = f.prev
            )
    ) AS p ON true
    ON CONFLICT DO NOTHING;

    SELECT f.book, f.seq, format(said.what, f.about) AS what, said.clears INTO wrong FROM (
        SELECT g.*, CASE
            WHEN g.fits IS NOT TRUE THEN 'changed'
            WHEN g.job IS DISTINCT FROM of_job THEN 'elsewhere'
            WHEN cladlog.origin(g.book) IS DISTINCT FROM g.device THEN 'misfiled'
            WHEN NOT (b.begun_by = session_user OR caller.is_owner) THEN 'not yours'
            WHEN g.seq <= b.seq AND g.hash IS DISTINCT FROM (
                    SELECT e.hash FROM cladlog.entry e
                    WHERE e.job = the_job.id AND e.book = b.id AND e.seq = g.seq
                ) THEN 'forked'
            WHEN g.seq > b.seq AND g.seq <> coalesce(g.number, b.seq) + 1 THEN 'gap'
            WHEN g.seq > b.seq AND g.prev IS DISTINCT FROM encode(coalesce(g.before, b.hash), 'hex') THEN 'broken'
        END AS wrong, CASE WHEN g.job IS DISTINCT FROM of_job THEN g.job ELSE b.seq::text END AS about
        FROM (
            SELECT g.*, lag(g.seq) OVER book AS number, lag(g.hash) OVER book AS before
            FROM unnest(all_given) WITH ORDINALITY AS g (book, device, seq, prev, hash, fits, job, sets_up, place)
            WINDOW book AS (PARTITION BY g.book COLLATE "C" ORDER BY g.seq, g.place)
        ) AS g
        JOIN cladlog.book b ON b.job = the_job.id AND b.device = g.book,
        (SELECT cladlog.is_owner()) AS caller (is_owner)
    ) AS f
    JOIN (VALUES
        ('changed', 'its text does not fit its hash: it was changed after it was recorded', damage),
        ('elsewhere', 'it is of job %s, not of ' || replace(of_job, '%', '%%'), damage),
        ('misfiled', 'it is sent as part of a book of another device', damage),
        ('not yours', 'another login began this book, and only that one adds to it',
            'push with the login that began it, or have the owner of the office hand the book over: docs/office.md'),
        ('forked', 'the office has another entry of this number: the book forked, or one of the two was forged', parted),
        ('gap', 'entries are missing before it: the office has %s', damage),
        ('broken', 'it does not follow from the entry before it: one of the two was changed or replaced', damage)
    ) AS said (wrong, what, clears) USING (wrong)
    ORDER BY f.place LIMIT 1;
    IF FOUND THEN
        RAISE EXCEPTION '%', wrong.what
            USING ERRCODE = 'CL001', DETAIL = wrong.book || '-' || wrong.seq, HINT = wrong.clears;
    END IF;

    INSERT INTO cladlog.entry (job, book, seq, hash, line)
    SELECT the_job.id, b.id, g.seq, g.hash, g.line
    FROM ROWS FROM (unnest(all_given), unnest(lines)) AS g (book, device, seq, prev, hash, fits, job, sets_up, line)
    JOIN cladlog.book b ON b.job = the_job.id AND b.device = g.book AND g.seq > b.seq;
    GET DIAGNOSTICS added = ROW_COUNT;
    IF added > 0 THEN
        UPDATE cladlog.book b SET seq = newest.seq, hash = e.hash
        FROM (SELECT g.book, max(g.seq) AS seq FROM unnest(all_given) AS g GROUP BY g.book) AS newest,
            cladlog.entry e
        WHERE b.job = the_job.id AND b.device = newest.book AND newest.seq > b.seq
            AND e.job = b.job AND e.book = b.id AND e.seq = newest.seq;
        UPDATE cladlog.job SET entries = entries + added,
            set_up = coalesce(set_up, (SELECT g.hash FROM unnest(all_given) AS g WHERE g.sets_up))
        WHERE id = the_job.id;
        PERFORM pg_notify('cladlog_entry', of_job);
    END IF;
    RETURN added;
END $$;

-- What `office work` runs as: it reads as an office does, and writes what can be made again, nothing else.
DO $$ BEGIN CREATE ROLE worker NOLOGIN; EXCEPTION WHEN duplicate_object OR unique_violation THEN NULL; END $$;
GRANT office TO worker;

REVOKE ALL ON ALL FUNCTIONS IN SCHEMA cladlog FROM PUBLIC;
GRANT EXECUTE ON FUNCTION cladlog.books_there, cladlog.entries_there, cladlog.add TO crew;
REVOKE ALL ON TYPE cladlog.given FROM PUBLIC;
