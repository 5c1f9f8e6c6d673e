-- Notes: what a request keeps beside its movements. A request may have notes and no movements, so
-- the table of requests is made anew with a check that takes an empty span of entries.

DROP TRIGGER entry_follows;

CREATE TABLE request_anew (
    seq INTEGER PRIMARY KEY,
    key TEXT NOT NULL UNIQUE CHECK (key <> ''),
    at TEXT NOT NULL,
    who TEXT NOT NULL,
    why TEXT NOT NULL,
    first INTEGER NOT NULL,
    last INTEGER NOT NULL CHECK (last >= first - 1),
    link TEXT NOT NULL
) STRICT;
INSERT INTO request_anew SELECT * FROM request;
DROP TABLE request;
ALTER TABLE request_anew RENAME TO request;

CREATE TABLE note (
    seq INTEGER PRIMARY KEY,
    request INTEGER NOT NULL REFERENCES request (seq),
    kind TEXT NOT NULL CHECK (kind <> ''),
    about TEXT NOT NULL CHECK (about <> ''),
    text TEXT NOT NULL
) STRICT;

CREATE INDEX note_of_request ON note (request);
CREATE INDEX note_about ON note (kind, about, seq);

CREATE TRIGGER request_follows BEFORE INSERT ON request BEGIN
    SELECT RAISE(ABORT, 'a request must follow the one before') WHERE
        NEW.seq <> (SELECT coalesce(max(seq), 0) + 1 FROM request)
        OR NEW.first <> (SELECT coalesce(max(seq), 0) + 1 FROM entry)
        OR NEW.first <> coalesce((SELECT last + 1 FROM request WHERE seq = NEW.seq - 1), 1);
    SELECT RAISE(ABORT, 'a key is posted once') WHERE
        EXISTS (SELECT 1 FROM request WHERE key = NEW.key);
END;

CREATE TRIGGER entry_follows BEFORE INSERT ON entry BEGIN
    SELECT RAISE(ABORT, 'an entry must follow the one before') WHERE
        NOT EXISTS (SELECT 1 FROM lot WHERE id = NEW.lot)
        OR NOT coalesce((
            SELECT seq = NEW.request AND NEW.seq BETWEEN first AND last
            FROM request ORDER BY seq DESC LIMIT 1), 0)
        OR NOT coalesce((
            SELECT seq < NEW.seq AND on_hand = NEW.on_hand - NEW.change
                AND reserved = NEW.reserved - NEW.holds
            FROM entry WHERE lot = NEW.lot ORDER BY seq DESC LIMIT 1),
            NEW.on_hand = NEW.change AND NEW.reserved = NEW.holds)
        OR NEW.job <> '' AND NEW.held - NEW.holds <> coalesce((
            SELECT held FROM entry WHERE job = NEW.job AND job <> '' AND lot = NEW.lot
            ORDER BY seq DESC LIMIT 1), 0);
END;

CREATE TRIGGER note_follows BEFORE INSERT ON note BEGIN
    SELECT RAISE(ABORT, 'a note must follow the one before') WHERE
        NEW.seq <> (SELECT coalesce(max(seq), 0) + 1 FROM note)
        OR NEW.request <> (SELECT coalesce(max(seq), 0) FROM request);
END;

CREATE TRIGGER request_stays BEFORE UPDATE ON request BEGIN
    SELECT RAISE(ABORT, 'the ledger is only added to');
END;
CREATE TRIGGER request_remains BEFORE DELETE ON request BEGIN
    SELECT RAISE(ABORT, 'the ledger is only added to');
END;
CREATE TRIGGER note_stays BEFORE UPDATE ON note BEGIN
    SELECT RAISE(ABORT, 'the ledger is only added to');
END;
CREATE TRIGGER note_remains BEFORE DELETE ON note BEGIN
    SELECT RAISE(ABORT, 'the ledger is only added to');
END;
