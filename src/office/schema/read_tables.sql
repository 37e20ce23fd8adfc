-- What the records come to, as the replay says it. Nothing here is kept anywhere else, and nothing is the worse for being
-- dropped: DROP SCHEMA cladlog_read CASCADE, and `office work` makes it again. Taken anew at every `office init`; a
-- migration that changes what tables there are drops the schema.

CREATE OR REPLACE FUNCTION cladlog.make_read_tables() RETURNS void
LANGUAGE plpgsql SECURITY DEFINER SET search_path = pg_catalog, pg_temp AS $$
BEGIN
    -- Two at once, one after the other.
    LOCK TABLE cladlog.migration IN SHARE ROW EXCLUSIVE MODE;
    IF to_regnamespace('cladlog_read') IS NOT NULL THEN
        RETURN;
    END IF;

    CREATE SCHEMA cladlog_read;
    REVOKE ALL ON SCHEMA cladlog_read FROM PUBLIC;
    GRANT USAGE ON SCHEMA cladlog_read TO office, worker;

    -- How many entries of a job were replayed, and by which program: with other numbers its rows are out of date.
    CREATE TABLE cladlog_read.replayed (
        job integer PRIMARY KEY,
        entries bigint NOT NULL,
        program text NOT NULL,
        -- The time zone of its site; absent where it could not be replayed.
        zone text,
        -- Why the record can't be replayed.
        failed text
    );

    -- The line of the board from one moment to another; several where time alone changes it.
    CREATE TABLE cladlog_read.board (
        job integer NOT NULL,
        since timestamptz NOT NULL,
        until timestamptz NOT NULL,
        line json NOT NULL,
        PRIMARY KEY (job, since)
    );

    -- Where each batch is.
    CREATE TABLE cladlog_read.place (
        job integer NOT NULL,
        number integer NOT NULL,
        -- The label without what people write differently.
        label text NOT NULL,
        subject text NOT NULL,
        entry text NOT NULL,
        PRIMARY KEY (job, number)
    );
    CREATE INDEX place_label ON cladlog_read.place (label);

    -- Hours worked, by person and site day.
    CREATE TABLE cladlog_read.worked (
        job integer NOT NULL,
        number integer NOT NULL,
        date date NOT NULL,
        person text NOT NULL,
        hours double precision NOT NULL,
        PRIMARY KEY (job, number)
    );
    CREATE INDEX worked_date ON cladlog_read.worked (date);

    GRANT SELECT ON ALL TABLES IN SCHEMA cladlog_read TO office;
    GRANT SELECT, INSERT, DELETE ON ALL TABLES IN SCHEMA cladlog_read TO worker;
END $$;

REVOKE ALL ON FUNCTION cladlog.make_read_tables FROM PUBLIC;
GRANT EXECUTE ON FUNCTION cladlog.make_read_tables TO worker;
