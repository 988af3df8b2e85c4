CREATE TABLE addresses (
    address TEXT NOT NULL,
    person TEXT NOT NULL,
    state TEXT NOT NULL,
    PRIMARY KEY (address)
)
 STRICT;

CREATE TABLE alerts (
    id TEXT NOT NULL,
    kind TEXT NOT NULL,
    subject TEXT NOT NULL,
    state TEXT NOT NULL,
    raised_us INTEGER NOT NULL,
    doc TEXT NOT NULL, handle TEXT, incident TEXT, told_us INTEGER, standing TEXT,
    PRIMARY KEY (id)
)
 STRICT;

CREATE TABLE cases (
    name TEXT NOT NULL,
    state TEXT NOT NULL,
    doc TEXT NOT NULL,
    PRIMARY KEY (name)
)
 STRICT;

CREATE TABLE codes (
    commitment TEXT NOT NULL,
    purpose TEXT NOT NULL,
    address TEXT NOT NULL,
    expires_us INTEGER NOT NULL,
    used_us INTEGER,
    PRIMARY KEY (commitment)
)
 STRICT;

CREATE TABLE conversations (
    address TEXT NOT NULL,
    doc TEXT NOT NULL,
    touched_us INTEGER NOT NULL,
    PRIMARY KEY (address)
)
 STRICT;

CREATE TABLE due (
    kind TEXT NOT NULL,
    subject TEXT NOT NULL,
    due_us INTEGER NOT NULL,
    state TEXT NOT NULL,
    done_us INTEGER, try_us INTEGER, doc TEXT, attempts INTEGER DEFAULT 0 NOT NULL, leased_by TEXT, leased_until_us INTEGER, problem TEXT,
    PRIMARY KEY (kind, subject, due_us)
)
 STRICT;

CREATE TABLE entries (
    chain TEXT NOT NULL,
    seq INTEGER NOT NULL,
    kind TEXT NOT NULL,
    received_us INTEGER NOT NULL,
    hash TEXT NOT NULL,
    text TEXT NOT NULL,
    PRIMARY KEY (chain, seq)
)
 STRICT;

CREATE TABLE heads (
    chain TEXT NOT NULL,
    seq INTEGER NOT NULL,
    hash TEXT NOT NULL,
    PRIMARY KEY (chain)
)
 STRICT;

CREATE TABLE outbox (
    "row" INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
    address TEXT NOT NULL,
    doc TEXT NOT NULL,
    queued_us INTEGER NOT NULL,
    due_us INTEGER NOT NULL,
    state TEXT NOT NULL,
    attempts INTEGER DEFAULT 0 NOT NULL,
    leased_by TEXT,
    leased_until_us INTEGER,
    done_us INTEGER,
    again INTEGER DEFAULT 0 NOT NULL,
    problem TEXT
, report TEXT, report_us INTEGER)
 STRICT;

CREATE TABLE photos (
    id TEXT NOT NULL,
    sha256 TEXT NOT NULL,
    person TEXT NOT NULL,
    chain TEXT NOT NULL,
    sample_id TEXT,
    received_us INTEGER NOT NULL,
    doc TEXT NOT NULL,
    PRIMARY KEY (id)
)
 STRICT;

CREATE TABLE raw_messages (
    "row" INTEGER NOT NULL,
    "key" TEXT NOT NULL,
    address TEXT NOT NULL,
    received_us INTEGER NOT NULL,
    sent_us INTEGER,
    state TEXT NOT NULL,
    sha256 TEXT NOT NULL,
    text TEXT NOT NULL,
    PRIMARY KEY ("row"),
    UNIQUE ("key")
)
 STRICT;

CREATE TABLE readings (
    id TEXT NOT NULL,
    cooler TEXT NOT NULL,
    at_us INTEGER NOT NULL,
    doc TEXT NOT NULL,
    PRIMARY KEY (id)
)
 STRICT;

CREATE TABLE replacing (never INTEGER CONSTRAINT "append-only" CHECK (0)) STRICT;

CREATE TABLE salts (
    commitment TEXT NOT NULL,
    value TEXT NOT NULL,
    salt TEXT NOT NULL,
    PRIMARY KEY (commitment),
    UNIQUE (value)
)
 STRICT;

CREATE TABLE samples (
    id TEXT NOT NULL,
    case_name TEXT NOT NULL,
    number TEXT NOT NULL,
    jar_key TEXT NOT NULL,
    number_int INTEGER,
    told_by TEXT NOT NULL,
    declared_us INTEGER NOT NULL,
    event_us INTEGER,
    has_position INTEGER NOT NULL,
    kind TEXT,
    open INTEGER NOT NULL,
    seal TEXT,
    evidence TEXT,
    doc TEXT NOT NULL, offered_to TEXT, reseal TEXT, box TEXT,
    PRIMARY KEY (id)
)
 STRICT;

CREATE TABLE store_state (
    id INTEGER NOT NULL,
    writes INTEGER NOT NULL,
    PRIMARY KEY (id),
    CONSTRAINT one_row CHECK (id = 1)
)
 STRICT;

CREATE TABLE unit_items (
    kind TEXT NOT NULL,
    name TEXT NOT NULL,
    doc TEXT NOT NULL,
    PRIMARY KEY (kind, name)
)
 STRICT;

CREATE TABLE web_sessions (
    commitment TEXT NOT NULL,
    address TEXT NOT NULL,
    expires_us INTEGER NOT NULL,
    PRIMARY KEY (commitment)
)
 STRICT;

CREATE INDEX alerts_handle_some ON alerts (handle) WHERE state = 'open';

CREATE INDEX alerts_incident_told_us ON alerts (incident, told_us);

CREATE INDEX alerts_kind_subject_raised_us ON alerts (kind, subject, raised_us);

CREATE INDEX cases_state ON cases (state);

CREATE INDEX due_due_us_some ON due (due_us) WHERE state = 'waiting';

CREATE INDEX due_try_us_some ON due (try_us) WHERE state IN ('asked', 'taken');

CREATE INDEX outbox_address_row ON outbox (address, "row");

CREATE INDEX outbox_address_row_some ON outbox (address, "row") WHERE state IN ('waiting', 'leased');

CREATE INDEX outbox_due_us_row_some ON outbox (due_us, "row") WHERE state IN ('waiting', 'leased');

CREATE INDEX photos_person_received_us_some ON photos (person, received_us) WHERE sample_id IS NULL;

CREATE INDEX photos_sample_id ON photos (sample_id);

CREATE INDEX photos_sha256 ON photos (sha256);

CREATE INDEX raw_messages_address_row ON raw_messages (address, "row");

CREATE INDEX readings_cooler_at_us ON readings (cooler, at_us);

CREATE INDEX samples_box_some ON samples (box) WHERE box IS NOT NULL;

CREATE INDEX samples_case_name_kind ON samples (case_name, kind);

CREATE INDEX samples_case_name_number_int ON samples (case_name, number_int);

CREATE INDEX samples_evidence_some ON samples (evidence) WHERE evidence IS NOT NULL;

CREATE INDEX samples_jar_key ON samples (jar_key);

CREATE INDEX samples_offered_to_some ON samples (offered_to) WHERE offered_to IS NOT NULL;

CREATE INDEX samples_reseal_some ON samples (reseal) WHERE reseal IS NOT NULL;

CREATE INDEX samples_seal_some ON samples (seal) WHERE seal IS NOT NULL;

CREATE INDEX samples_told_by_declared_us ON samples (told_by, declared_us);

CREATE INDEX samples_told_by_declared_us_some ON samples (told_by, declared_us) WHERE open = 1;

CREATE INDEX samples_told_by_event_us_some ON samples (told_by, event_us) WHERE has_position = 1;

CREATE TRIGGER entries_no_delete BEFORE DELETE ON entries BEGIN SELECT RAISE(ABORT, 'entries is append-only'); END;

CREATE TRIGGER entries_no_replace BEFORE INSERT ON entries BEGIN INSERT OR IGNORE INTO replacing VALUES (1); END;

CREATE TRIGGER entries_no_update BEFORE UPDATE ON entries BEGIN SELECT RAISE(ABORT, 'entries is append-only'); END;

CREATE TRIGGER raw_messages_no_delete BEFORE DELETE ON raw_messages BEGIN SELECT RAISE(ABORT, 'raw_messages is append-only'); END;

CREATE TRIGGER raw_messages_no_replace BEFORE INSERT ON raw_messages BEGIN INSERT OR IGNORE INTO replacing VALUES (1); END;

CREATE TRIGGER raw_messages_no_update BEFORE UPDATE ON raw_messages BEGIN SELECT RAISE(ABORT, 'raw_messages is append-only'); END;
