
CREATE TABLE about (
  name       TEXT PRIMARY KEY,             -- 'name': eight letters and digits, drawn when the ledger was made
  value      TEXT NOT NULL
) WITHOUT ROWID;

CREATE TABLE intake     (id INTEGER PRIMARY KEY, name   TEXT NOT NULL UNIQUE);
CREATE TABLE instrument (id INTEGER PRIMARY KEY, serial TEXT NOT NULL UNIQUE,
                         last_measured_at INTEGER, last_came_at INTEGER);  -- the latest of its readings
CREATE TABLE outlet     (id INTEGER PRIMARY KEY, name   TEXT NOT NULL UNIQUE,
                         closed TEXT,      -- why it takes nothing until a person opens it; null = open
                         paused TEXT,      -- why a person paused it; null = it is not paused
                         paused_at INTEGER);
CREATE TABLE subject    (id INTEGER PRIMARY KEY, key    TEXT NOT NULL UNIQUE);  -- STOCK or STOCK#POSITION

CREATE TABLE house (                       -- the rules that decided: policy and instruments
  id         INTEGER PRIMARY KEY,
  digest     TEXT NOT NULL UNIQUE,         -- sha256:… of `rules`
  name       TEXT NOT NULL,
  version    TEXT NOT NULL,
  rules      TEXT NOT NULL,
  since      INTEGER NOT NULL              -- times are milliseconds since 1970, UTC
);

CREATE TABLE document (
  id         INTEGER PRIMARY KEY,
  intake     INTEGER NOT NULL REFERENCES intake,
  name       TEXT NOT NULL,                -- file name in its folder, or the line's device
  digest     BLOB NOT NULL,                -- SHA-256 of its bytes
  offset     INTEGER NOT NULL,             -- of its first byte in a growing file
  size       INTEGER NOT NULL,
  came_at    INTEGER NOT NULL,             -- the file's own time, or when the frame's last byte came
  taken_at   INTEGER NOT NULL,
  complete   INTEGER                       -- 1: a whole file, all of it in the ledger; such a digest is skipped
);
CREATE INDEX document_known ON document (digest) WHERE complete = 1;

CREATE TABLE reading (
  id         INTEGER PRIMARY KEY,
  subject    INTEGER REFERENCES subject,   -- null: unbound, waits for a scan or a person
  instrument INTEGER NOT NULL REFERENCES instrument,
  slot       NOT NULL,                     -- the run: an integer or a text; without a run, measured_at as 8 bytes
  content    INTEGER NOT NULL,             -- first 8 bytes of the SHA-256 of what the record gave
  measured_at INTEGER NOT NULL,
  finding    INTEGER NOT NULL,             -- 0 natural 1 laboratory_grown 2 treated 3 composite 4 simulant 5 indeterminate 6 void
  live       INTEGER NOT NULL,             -- 0: a newer record of the same run took its place
  pair       INTEGER REFERENCES reading,   -- the reading of which this is the second route
  near       INTEGER,                      -- 1: found by instrument and time
  document   INTEGER NOT NULL REFERENCES document,
  intake     INTEGER NOT NULL REFERENCES intake,
  offset     INTEGER NOT NULL,             -- its bytes in the document
  length     INTEGER NOT NULL,
  line       INTEGER NOT NULL,
  came_at    INTEGER NOT NULL,             -- the earliest time of its documents
  came_offset INTEGER,                     -- its offset in that document, where that is not `document`
  stock      TEXT,                         -- as the record gave it, where that is not the subject's key
  position   TEXT,
  kind       INTEGER,
  diamond_type INTEGER,
  confidence TEXT, carat TEXT, color TEXT, shape TEXT, table_mm TEXT, length_mm TEXT, width_mm TEXT, depth_mm TEXT,
  temperature_c TEXT, humidity_pct TEXT, operator TEXT, note TEXT,
  time_rule  TEXT,
  extra      TEXT,                         -- JSON object
  defaults   TEXT                          -- JSON array: the fields whose values are the mapping's defaults
);
CREATE UNIQUE INDEX reading_same ON reading (instrument, slot, content);
CREATE INDEX reading_of_subject ON reading (subject, measured_at);
CREATE INDEX reading_near ON reading (instrument, measured_at) WHERE near = 1;

CREATE TABLE declaration (
  id         INTEGER PRIMARY KEY,
  subject    INTEGER NOT NULL REFERENCES subject,
  content    INTEGER NOT NULL,
  document   INTEGER NOT NULL REFERENCES document,
  offset     INTEGER NOT NULL, length INTEGER NOT NULL, line INTEGER NOT NULL,
  came_at    INTEGER NOT NULL,             -- declared_at where the list gives it, else the time of the list
  declared_at INTEGER,
  identity   INTEGER, kind INTEGER,
  color TEXT, shape TEXT, mount TEXT, channel TEXT, carat TEXT, table_mm TEXT, length_mm TEXT, width_mm TEXT,
  depth_mm TEXT, stones TEXT, value TEXT,
  extra      TEXT
);
CREATE UNIQUE INDEX declaration_same ON declaration (subject, content);

CREATE TABLE scan (
  bench      TEXT NOT NULL,
  scanned_at INTEGER NOT NULL,
  stock      TEXT NOT NULL,
  position   TEXT NOT NULL,
  document   INTEGER NOT NULL REFERENCES document,
  PRIMARY KEY (bench, scanned_at, stock, position)
) WITHOUT ROWID;

CREATE TABLE receipt (                     -- `count` records in a row of one document, each the duplicate of the
  kind       INTEGER NOT NULL,             -- readings (0) or declarations (1) first, first + 1, …
  first      INTEGER NOT NULL,
  id         INTEGER NOT NULL,
  count      INTEGER NOT NULL,             -- at most 1024
  document   INTEGER NOT NULL REFERENCES document,
  offset     INTEGER NOT NULL,
  came_at    INTEGER NOT NULL,
  PRIMARY KEY (kind, first, id)
) WITHOUT ROWID;

CREATE TABLE aside (
  id         INTEGER PRIMARY KEY,
  intake     INTEGER NOT NULL REFERENCES intake,
  document   INTEGER NOT NULL REFERENCES document,
  offset     INTEGER NOT NULL, length INTEGER NOT NULL, line INTEGER NOT NULL,
  reason     TEXT NOT NULL,
  bytes      BLOB NOT NULL,
  truncated  INTEGER NOT NULL,
  at         INTEGER NOT NULL,
  settled_at INTEGER,                      -- the document was read again, and this was not met; null = it is open
  tried_at   INTEGER,                      -- the document was last read again
  UNIQUE (document, offset, length, reason)
);
CREATE INDEX aside_open ON aside (id) WHERE settled_at IS NULL;

CREATE TABLE file_position (
  intake     INTEGER NOT NULL REFERENCES intake,
  name       TEXT NOT NULL,
  size       INTEGER NOT NULL, mtime_ns INTEGER NOT NULL, ctime_ns INTEGER NOT NULL,
  offset     INTEGER NOT NULL,
  prefix     BLOB NOT NULL,                -- SHA-256 of the first `offset` bytes
  resume     BLOB NOT NULL,
  PRIMARY KEY (intake, name)
) WITHOUT ROWID;

CREATE TABLE cases (
  number     INTEGER PRIMARY KEY,          -- subject * 65536 + the how-manyeth case of the subject, from 0
  first_at   INTEGER NOT NULL,
  last_at    INTEGER NOT NULL,
  state      INTEGER NOT NULL,             -- 0 open, 1 merged, 2 empty
  merged_into INTEGER REFERENCES cases,
  sequence   INTEGER NOT NULL              -- of its last outcome
);

CREATE TABLE outcome (
  case_number INTEGER NOT NULL REFERENCES cases,
  sequence   INTEGER NOT NULL,
  disposition INTEGER NOT NULL,            -- 0 repeat 1 release 2 hold 3 refer 4 reject
  previous   INTEGER,
  finding    INTEGER NOT NULL,             -- as in reading; 6 mixed, 7 none
  reason     TEXT NOT NULL,
  rule       INTEGER NOT NULL,
  valid INTEGER NOT NULL, voids INTEGER NOT NULL, discounted INTEGER NOT NULL, required INTEGER NOT NULL,
  duplicates INTEGER NOT NULL,
  scope INTEGER NOT NULL,                  -- 0 in 1 out 2 unknown
  instrument INTEGER NOT NULL,             -- 0 fit 1 unfit 2 unknown
  declared   INTEGER,                      -- identity, as a finding
  declaration INTEGER REFERENCES declaration,
  kind       INTEGER NOT NULL,             -- 0 stone 1 piece 2 parcel
  merged_into INTEGER REFERENCES cases,
  house      INTEGER NOT NULL REFERENCES house,
  decided_at INTEGER NOT NULL,
  instruments INTEGER, dissent INTEGER,    -- null, like `measured`: written by version 1, which did not keep it
  evidence   TEXT,                         -- JSON object: what of the evidence has no column; null where there is nothing
  measured   BLOB,                         -- the readings it rests on; ledger.md has the form
  PRIMARY KEY (case_number, sequence)
) WITHOUT ROWID;

CREATE TABLE activation (                  -- a policy came into force
  id         INTEGER PRIMARY KEY,          -- in the order in which they did
  house      INTEGER NOT NULL REFERENCES house,
  at         INTEGER NOT NULL,
  valid_from INTEGER,                      -- as the policy says it, like the two below; null = it does not
  approved_by TEXT,
  why        TEXT
);

CREATE TABLE shadow (                      -- what a policy that delivers nothing says of a case, at one of its outcomes
  case_number INTEGER NOT NULL,
  sequence   INTEGER NOT NULL,
  house      INTEGER NOT NULL REFERENCES house,
  disposition INTEGER NOT NULL,
  reason     TEXT NOT NULL,
  rule       INTEGER NOT NULL,
  PRIMARY KEY (case_number, sequence, house),
  FOREIGN KEY (case_number, sequence) REFERENCES outcome
) WITHOUT ROWID;

CREATE TABLE delivery (
  id         INTEGER PRIMARY KEY,
  outlet     INTEGER NOT NULL REFERENCES outlet,
  case_number INTEGER NOT NULL,
  sequence   INTEGER NOT NULL,
  state      INTEGER NOT NULL,             -- 0 waiting 1 sent 2 parked 3 skipped
  attempts   INTEGER NOT NULL,             -- since it was made or sent again
  due_at     INTEGER,                      -- null: an earlier outcome of the case goes first
  status     INTEGER NOT NULL,             -- HTTP status of the last attempt, 0 = none came
  note       TEXT NOT NULL,
  changed_at INTEGER NOT NULL,
  reference  TEXT,                         -- the receiver's own name for it; null = it gave none
  made       INTEGER,                      -- all attempts, those before it was sent again too; null = as many as `attempts`
  told       INTEGER                       -- 1: it had been sent when it was sent again
);
CREATE INDEX delivery_due ON delivery (outlet, due_at) WHERE state = 0 AND due_at IS NOT NULL;
CREATE INDEX delivery_waiting ON delivery (case_number, outlet, sequence) WHERE state = 0;
CREATE INDEX delivery_of_case ON delivery (case_number, sequence);
CREATE INDEX delivery_parked ON delivery (outlet) WHERE state = 2;
CREATE INDEX delivery_unsent ON delivery (outlet) WHERE state = 0;

CREATE TABLE attempt (                     -- at a delivery; old ones are counted in attempt_count and leave
  delivery   INTEGER NOT NULL REFERENCES delivery,
  number     INTEGER NOT NULL,             -- from 1
  at         INTEGER NOT NULL,             -- when it began
  took       INTEGER NOT NULL,             -- milliseconds
  status     INTEGER NOT NULL,             -- HTTP status, 0 = none came
  note       TEXT,                         -- why it failed; null = it did not
  answer     BLOB,                         -- the first bytes of the answer; null = there were none
  PRIMARY KEY (delivery, number)
) WITHOUT ROWID;
CREATE INDEX attempt_at ON attempt (at);

CREATE TABLE attempt_count (               -- of attempts that have left
  outlet     INTEGER NOT NULL REFERENCES outlet,
  day        INTEGER NOT NULL,             -- days since 1970-01-01, UTC
  status     INTEGER NOT NULL,
  count      INTEGER NOT NULL,
  took       INTEGER NOT NULL,             -- milliseconds, of all of them together
  PRIMARY KEY (outlet, day, status)
) WITHOUT ROWID;

CREATE TABLE outlet_total (                -- of its deliveries, and its last attempt; kept with each change of them
  outlet     INTEGER PRIMARY KEY REFERENCES outlet,
  waiting INTEGER NOT NULL, sent INTEGER NOT NULL, parked INTEGER NOT NULL, skipped INTEGER NOT NULL,
  delivery   INTEGER REFERENCES delivery,  -- null, like what follows: there was no attempt
  number     INTEGER,
  at         INTEGER,
  took       INTEGER,
  status     INTEGER,
  note       TEXT,
  answer     BLOB
);

CREATE TABLE hand (                        -- an outcome that a person decided
  case_number INTEGER NOT NULL,
  sequence   INTEGER NOT NULL,
  who        TEXT NOT NULL,                -- as they say it
  why        TEXT NOT NULL,
  token      TEXT,                         -- the name of what let them in; null = none was shown
  at         INTEGER NOT NULL,
  PRIMARY KEY (case_number, sequence),
  FOREIGN KEY (case_number, sequence) REFERENCES outcome
) WITHOUT ROWID;

CREATE TABLE binding (                     -- a person's answer to whose reading it is; the last one of a reading counts
  id         INTEGER PRIMARY KEY,
  reading    INTEGER NOT NULL REFERENCES reading,
  stock      TEXT NOT NULL,
  position   TEXT,
  who        TEXT NOT NULL,
  why        TEXT NOT NULL,
  token      TEXT,
  at         INTEGER NOT NULL
);
CREATE INDEX binding_of ON binding (reading);

CREATE TABLE kept (                        -- a document of which something was set aside: to be read again
  document   INTEGER PRIMARY KEY REFERENCES document,
  resume     BLOB NOT NULL,                -- the reader's state with which it was begun
  bytes      BLOB NOT NULL
);

CREATE TABLE token (                       -- what lets somebody in over HTTP
  id         INTEGER PRIMARY KEY,
  name       TEXT NOT NULL,
  role       INTEGER NOT NULL,             -- 0 look 1 work 2 admin
  digest     BLOB NOT NULL UNIQUE,         -- SHA-256 of the token
  made_at    INTEGER NOT NULL,
  revoked_at INTEGER                       -- null = it holds
);
CREATE UNIQUE INDEX token_name ON token (name) WHERE revoked_at IS NULL;
