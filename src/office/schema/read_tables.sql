-- What the records come to, as the replay says it. Nothing here is kept anywhere else, and nothing is the worse for being
-- dropped: DROP SCHEMA cladlog_read CASCADE, and `office work` makes it again.

CREATE SCHEMA cladlog_read;
REVOKE ALL ON SCHEMA cladlog_read FROM PUBLIC;
GRANT USAGE ON SCHEMA cladlog_read TO office;

-- How many entries of a job were replayed, and by which program: with other numbers its rows are out of date.
CREATE TABLE cladlog_read.replayed (
    job integer PRIMARY KEY,
    entries bigint NOT NULL,
    program text NOT NULL,
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
