-- A ledger of version 3, as that version wrote it: the one of version2.sql, brought forward; then a stock list, readings, a
-- record that was set aside, a till that answered, refused and failed, a pause, and a delivery that was sent again. One row
-- of attempt_count is typed in: attempts leave after weeks. Never changed: it stands for the ledgers in the shops.
PRAGMA journal_mode = WAL;
BEGIN;

CREATE TABLE about (
  name       TEXT PRIMARY KEY,             -- 'name': eight letters and digits, drawn when the ledger was made
  value      TEXT NOT NULL
) WITHOUT ROWID;
INSERT INTO about VALUES('name','easazxwv');
CREATE TABLE intake     (id INTEGER PRIMARY KEY, name   TEXT NOT NULL UNIQUE);
INSERT INTO intake VALUES(1,'exports');
INSERT INTO intake VALUES(2,'stock-list');
CREATE TABLE instrument (id INTEGER PRIMARY KEY, serial TEXT NOT NULL UNIQUE);
INSERT INTO instrument VALUES(1,'A-0117');
INSERT INTO instrument VALUES(2,'B-22');
CREATE TABLE outlet     (id INTEGER PRIMARY KEY, name   TEXT NOT NULL UNIQUE,
                         closed TEXT, paused TEXT, paused_at INTEGER);
INSERT INTO outlet VALUES(1,'till',NULL,'kim: the till is being moved',1795688155200);
INSERT INTO outlet VALUES(2,'inventory','it answered 410: gone',NULL,NULL);
CREATE TABLE subject    (id INTEGER PRIMARY KEY, key    TEXT NOT NULL UNIQUE);
INSERT INTO subject VALUES(1,'R1042');
INSERT INTO subject VALUES(2,'R1042#2');
INSERT INTO subject VALUES(3,'Q7');
INSERT INTO subject VALUES(4,'R1043');
INSERT INTO subject VALUES(5,'Q8');
INSERT INTO subject VALUES(6,'R2001');
INSERT INTO subject VALUES(7,'R2002');
INSERT INTO subject VALUES(8,'R2003');
CREATE TABLE house (                       -- the rules that decided: policy and instruments
  id         INTEGER PRIMARY KEY,
  digest     TEXT NOT NULL UNIQUE,         -- sha256:… of `rules`
  name       TEXT NOT NULL,
  version    TEXT NOT NULL,
  rules      TEXT NOT NULL,
  since      INTEGER NOT NULL              -- times are milliseconds since 1970, UTC
);
INSERT INTO house VALUES(1,'sha256:00','quay-street','3','policy: {}',1700000000000);
INSERT INTO house VALUES(2,'sha256:e0ee22631d1e9b104621e3e7cb5742cb2a9348475ba8dfde635b65bc7c16aa3a','default','1','{"name":"default","version":"1","required":2,"reopen_after":"30d","scan_fresh":"2min","accept_unknown_scope":false,"table":{"hit_policy":"FIRST","aggregation":"","inputs":[{"expression":"finding","type":"string","allowed_values":"\"natural\", \"laboratory_grown\", \"treated\", \"composite\", \"simulant\", \"indeterminate\", \"mixed\", \"none\""},{"expression":"valid","type":"number","allowed_values":""},{"expression":"voids","type":"number","allowed_values":""},{"expression":"scope","type":"string","allowed_values":"\"in\", \"out\", \"unknown\""},{"expression":"instrument","type":"string","allowed_values":"\"fit\", \"unfit\", \"unknown\""},{"expression":"declared","type":"string","allowed_values":"\"natural\", \"laboratory_grown\", \"treated\", \"composite\", \"simulant\", \"none\""}],"outputs":[{"name":"disposition","type":"string","allowed_values":"\"reject\", \"hold\", \"refer\", \"repeat\", \"release\"","default":""},{"name":"reason","type":"string","allowed_values":"","default":""}],"rules":[{"when":["-","-","-","-","\"unfit\"","-"],"then":["\"hold\"","\"instrument_unfit\""]},{"when":["\"none\"","-","< 3","-","-","-"],"then":["\"repeat\"","\"no_valid_measurement\""]},{"when":["\"none\"","-","-","-","-","-"],"then":["\"hold\"","\"cannot_be_measured\""]},{"when":["\"mixed\"","-","-","-","-","-"],"then":["\"refer\"","\"findings_differ\""]},{"when":["-","-","-","\"out\"","-","-"],"then":["\"refer\"","\"outside_instrument_scope\""]},{"when":["-","< required","-","-","-","-"],"then":["\"repeat\"","\"more_readings_needed\""]},{"when":["\"indeterminate\"","-","-","-","-","-"],"then":["\"refer\"","\"instrument_cannot_tell\""]},{"when":["\"simulant\"","-","-","-","-","\"simulant\""],"then":["\"release\"","\"as_declared\""]},{"when":["\"simulant\"","-","-","-","-","-"],"then":["\"reject\"","\"simulant\""]},{"when":["\"laboratory_grown\", \"treated\", \"composite\"","-","-","-","-","finding"],"then":["\"release\"","\"as_declared\""]},{"when":["\"laboratory_grown\", \"treated\", \"composite\"","-","-","-","-","-"],"then":["\"refer\"","\"not_as_declared\""]},{"when":["\"natural\"","-","-","\"in\", accepted_scope","-","\"natural\", \"none\""],"then":["\"release\"","\"as_declared\""]},{"when":["\"natural\"","-","-","\"unknown\"","-","\"natural\", \"none\""],"then":["\"hold\"","\"scope_unknown\""]},{"when":["\"natural\"","-","-","-","-","-"],"then":["\"hold\"","\"declared_otherwise\""]},{"when":["-","-","-","-","-","-"],"then":["\"hold\"","\"no_rule\""]}]},"instruments":[{"serial":"A-0117","bench":"counter-1","cycle":"0ms","scope":{"carat":"[0.03..10]","color":"[D..J]"},"ambient":{}},{"serial":"B-22","bench":"counter-2","cycle":"0ms","scope":{"carat":"[0.03..10]","color":"[D..J]"},"ambient":{}}]}',1795674953048);
INSERT INTO house VALUES(3,'sha256:a83de34cdaeb6aef0d9710c60e8f37cc64990ebbfdc8ef0a8f5032739021b86b','pawn-counter','1','{"name":"pawn-counter","version":"1","required":2,"reopen_after":"30d","scan_fresh":"2min","accept_unknown_scope":false,"table":{"hit_policy":"FIRST","aggregation":"","inputs":[{"expression":"finding","type":"string","allowed_values":""},{"expression":"valid","type":"number","allowed_values":""},{"expression":"voids","type":"number","allowed_values":""},{"expression":"scope","type":"string","allowed_values":""},{"expression":"instrument","type":"string","allowed_values":""},{"expression":"declared","type":"string","allowed_values":""},{"expression":"channel","type":"string","allowed_values":""},{"expression":"value","type":"number","allowed_values":""},{"expression":"instruments","type":"number","allowed_values":""}],"outputs":[{"name":"disposition","type":"string","allowed_values":"","default":""},{"name":"reason","type":"string","allowed_values":"","default":""}],"rules":[{"when":["-","-","-","-","\"unfit\"","-","-","-","-"],"then":["\"hold\"","\"instrument_unfit\""]},{"when":["\"none\"","-","< 3","-","-","-","-","-","-"],"then":["\"repeat\"","\"no_valid_measurement\""]},{"when":["\"none\"","-","-","-","-","-","-","-","-"],"then":["\"hold\"","\"cannot_be_measured\""]},{"when":["\"mixed\"","-","-","-","-","-","-","-","-"],"then":["\"refer\"","\"findings_differ\""]},{"when":["-","-","-","\"out\"","-","-","-","-","-"],"then":["\"refer\"","\"outside_instrument_scope\""]},{"when":["-","< required","-","-","-","-","-","-","-"],"then":["\"repeat\"","\"more_readings_needed\""]},{"when":["-","-","-","-","-","-","-","> 5000","< 2"],"then":["\"repeat\"","\"second_instrument_needed\""],"note":"two different instruments above 5,000"},{"when":["\"indeterminate\"","-","-","-","-","-","-","-","-"],"then":["\"refer\"","\"instrument_cannot_tell\""]},{"when":["\"simulant\"","-","-","-","-","\"simulant\"","-","-","-"],"then":["\"release\"","\"as_declared\""]},{"when":["\"simulant\"","-","-","-","-","-","-","-","-"],"then":["\"reject\"","\"simulant\""]},{"when":["-","-","-","\"unknown\"","-","-","\"pawn\"","-","-"],"then":["\"refer\"","\"pawn_scope_unknown\""],"note":"doubt at the pawn counter goes to a laboratory"},{"when":["-","-","-","\"unknown\"","-","-","-","-","-"],"then":["\"hold\"","\"scope_unknown\""]},{"when":["\"laboratory_grown\", \"treated\", \"composite\"","-","-","-","-","finding","-","-","-"],"then":["\"release\"","\"as_declared\""]},{"when":["\"laboratory_grown\", \"treated\", \"composite\"","-","-","-","-","-","-","-","-"],"then":["\"refer\"","\"not_as_declared\""]},{"when":["\"natural\"","-","-","\"in\"","-","\"natural\"","-","-","-"],"then":["\"release\"","\"as_declared\""]},{"when":["\"natural\"","-","-","-","-","\"none\"","\"pawn\"","-","-"],"then":["\"refer\"","\"pawn_nothing_declared\""]},{"when":["\"natural\"","-","-","-","-","-","\"pawn\"","-","-"],"then":["\"refer\"","\"pawn_declared_otherwise\""]},{"when":["\"natural\"","-","-","-","-","-","-","-","-"],"then":["\"hold\"","\"declared_otherwise\""]}]},"instruments":[{"serial":"A-0117","bench":"counter-1","cycle":"0ms","scope":{"carat":"[0.03..10]","color":"[D..J]"},"ambient":{}},{"serial":"B-22","bench":"counter-2","cycle":"0ms","scope":{"carat":"[0.03..10]","color":"[D..J]"},"ambient":{}}],"required_table":{"hit_policy":"FIRST","aggregation":"","inputs":[{"expression":"value","type":"number","allowed_values":""}],"outputs":[{"name":"required","type":"number","allowed_values":"","default":""}],"rules":[{"when":["> 1000"],"then":["3"],"note":"three runs above 1,000"},{"when":["null"],"then":["3"],"note":"a value that nobody said may be a high one"},{"when":["-"],"then":["2"],"note":"all others"}]},"routing":{"hit_policy":"COLLECT","aggregation":"","inputs":[{"expression":"disposition","type":"string","allowed_values":""}],"outputs":[{"name":"outlet","type":"string","allowed_values":"","default":""}],"rules":[{"when":["-"],"then":["\"till\""]},{"when":["\"refer\", \"hold\", \"reject\""],"then":["\"inventory\""]}]},"reasons":{"more_readings_needed":"{valid} of {required} runs that agree: measure {missing} more.","pawn_declared_otherwise":"Pawned as {declared}, found {finding}: to the laboratory.","pawn_nothing_declared":"Pawned, and nobody said what it is; found {finding} in {valid} runs: to the laboratory.","pawn_scope_unknown":"Pawned, {carat} ct, colour {color}: nobody knows whether the instrument can judge it. To the laboratory.","second_instrument_needed":"Worth {value}, above 5,000, and measured on {instruments} instrument only: measure it on another one."}}',1795674953048);
INSERT INTO house VALUES(4,'sha256:2cff29c044d0c5b90124022b72a7ad0095185dd857d24d5ebde0bc09e4dcd2ea','default','1','{"name":"default","version":"1","required":2,"reopen_after":"30d","scan_fresh":"2min","accept_unknown_scope":false,"table":{"hit_policy":"FIRST","aggregation":"","inputs":[{"expression":"finding","type":"string","allowed_values":"\"natural\", \"laboratory_grown\", \"treated\", \"composite\", \"simulant\", \"indeterminate\", \"mixed\", \"none\""},{"expression":"valid","type":"number","allowed_values":""},{"expression":"voids","type":"number","allowed_values":""},{"expression":"scope","type":"string","allowed_values":"\"in\", \"out\", \"unknown\""},{"expression":"instrument","type":"string","allowed_values":"\"fit\", \"unfit\", \"unknown\""},{"expression":"declared","type":"string","allowed_values":"\"natural\", \"laboratory_grown\", \"treated\", \"composite\", \"simulant\", \"none\""}],"outputs":[{"name":"disposition","type":"string","allowed_values":"\"reject\", \"hold\", \"refer\", \"repeat\", \"release\"","default":""},{"name":"reason","type":"string","allowed_values":"","default":""}],"rules":[{"when":["-","-","-","-","\"unfit\"","-"],"then":["\"hold\"","\"instrument_unfit\""]},{"when":["\"none\"","-","< 3","-","-","-"],"then":["\"repeat\"","\"no_valid_measurement\""]},{"when":["\"none\"","-","-","-","-","-"],"then":["\"hold\"","\"cannot_be_measured\""]},{"when":["\"mixed\"","-","-","-","-","-"],"then":["\"refer\"","\"findings_differ\""]},{"when":["-","-","-","\"out\"","-","-"],"then":["\"refer\"","\"outside_instrument_scope\""]},{"when":["-","< required","-","-","-","-"],"then":["\"repeat\"","\"more_readings_needed\""]},{"when":["\"indeterminate\"","-","-","-","-","-"],"then":["\"refer\"","\"instrument_cannot_tell\""]},{"when":["\"simulant\"","-","-","-","-","\"simulant\""],"then":["\"release\"","\"as_declared\""]},{"when":["\"simulant\"","-","-","-","-","-"],"then":["\"reject\"","\"simulant\""]},{"when":["\"laboratory_grown\", \"treated\", \"composite\"","-","-","-","-","finding"],"then":["\"release\"","\"as_declared\""]},{"when":["\"laboratory_grown\", \"treated\", \"composite\"","-","-","-","-","-"],"then":["\"refer\"","\"not_as_declared\""]},{"when":["\"natural\"","-","-","\"in\", accepted_scope","-","\"natural\", \"none\""],"then":["\"release\"","\"as_declared\""]},{"when":["\"natural\"","-","-","\"unknown\"","-","\"natural\", \"none\""],"then":["\"hold\"","\"scope_unknown\""]},{"when":["\"natural\"","-","-","-","-","-"],"then":["\"hold\"","\"declared_otherwise\""]},{"when":["-","-","-","-","-","-"],"then":["\"hold\"","\"no_rule\""]}]},"instruments":[{"serial":"A-0117","bench":"counter-1","cycle":"0ms","scope":{"carat":"[0.03..10]"},"ambient":{}},{"serial":"B-22","bench":"counter-2","cycle":"0ms","scope":{},"ambient":{}}]}',1795688155126);
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
INSERT INTO document VALUES(1,1,'today.csv',X'00112233445566778899AABBCCDDEEFF00112233445566778899AABBCCDDEEFF',0,4096,1700000000000,1700000000500,1);
INSERT INTO document VALUES(2,2,'list.csv',X'FF112233445566778899AABBCCDDEEFF00112233445566778899AABBCCDDEEFF',128,512,1700000001000,1700000001500,NULL);
INSERT INTO document VALUES(3,1,'a.csv',X'99D91C2C0A80465859EAD59FD4C7AC3EB95D360239937A943D7D1FA54A8A4C6D',0,290,1795674941728,1795674953051,1);
INSERT INTO document VALUES(4,2,'s.csv',X'852E6D1E2388E04A059731C760CB6DF5ADFD47B2A5CE0A651FBCDB0C6489A5CC',0,88,1795674941728,1795674953055,1);
INSERT INTO document VALUES(5,2,'s3.csv',X'8F84EBE5113BA40E3CF7A2D28945778B986BE6848555877C64783689CDC92EEB',0,43,1795688155112,1795688155127,1);
INSERT INTO document VALUES(6,1,'b.csv',X'0DF683522C43C52C3F9F888624345DD7C395CEE0A583A8AD6BC8957375E0035A',0,271,1795688155113,1795688155128,1);
INSERT INTO document VALUES(7,1,'c.csv',X'CAD6747CA68742AF1840C8D14B4BF3D8C2416FDF7F4DAEAA019A0118CBF739C4',0,112,1795688155140,1795688155154,1);
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
INSERT INTO reading VALUES(1,1,1,41,-77,1700000000100,0,1,NULL,1,1,1,10,60,2,1700000000000,NULL,'R1042',NULL,0,2,'0.987','0.53','E','round','3.1','5.2','5.21','3.2','21.5','40','ann','clean','earlier','{"lamp":"2"}','["operator"]');
INSERT INTO reading VALUES(2,1,2,'x-9',78,1700000000200,0,1,1,1,1,1,70,60,3,1700000000000,7,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL);
INSERT INTO reading VALUES(3,2,1,42,79,1700000000300,1,0,NULL,NULL,1,1,130,60,4,1700000000000,NULL,'R1042','2',NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL);
INSERT INTO reading VALUES(4,NULL,1,X'0000018BCFE56990',80,1700000000400,6,1,NULL,NULL,1,1,190,60,5,1700000000000,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL);
INSERT INTO reading VALUES(5,1,1,901,-1858792948076950529,1793610930000,0,1,NULL,NULL,3,1,25,39,2,1795674941728,NULL,'R1042',NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL);
INSERT INTO reading VALUES(6,1,1,902,-7967426700951422408,1793610990000,0,1,NULL,NULL,3,1,65,39,3,1795674941728,NULL,'R1042',NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL);
INSERT INTO reading VALUES(7,4,2,7,-2954358379290901988,1793611050000,0,1,NULL,NULL,3,1,105,35,4,1795674941728,NULL,'R1043',NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL);
INSERT INTO reading VALUES(8,4,1,903,-820850816330366894,1793611080000,1,1,NULL,NULL,3,1,141,39,5,1795674941728,NULL,'R1043',NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL);
INSERT INTO reading VALUES(9,5,1,904,-6412330799022523636,1793611140000,4,1,NULL,NULL,3,1,181,36,6,1795674941728,NULL,'Q8',NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL);
INSERT INTO reading VALUES(10,NULL,1,906,6517199825713943738,1793611260000,0,1,NULL,1,3,1,255,34,8,1795674941728,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL);
INSERT INTO reading VALUES(11,6,1,9001,6711373540163144736,1795680000000,0,1,NULL,NULL,6,1,32,41,2,1795688155113,NULL,'R2001',NULL,NULL,NULL,NULL,'0.53',NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL);
INSERT INTO reading VALUES(12,6,1,9002,674232170876936609,1795680120000,0,1,NULL,NULL,6,1,74,41,3,1795688155113,NULL,'R2001',NULL,NULL,NULL,NULL,'0.53',NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL);
INSERT INTO reading VALUES(13,7,2,77,-6852565263012421274,1795680180000,4,1,NULL,NULL,6,1,116,37,4,1795688155113,NULL,'R2002',NULL,NULL,NULL,NULL,'0.7',NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL);
INSERT INTO reading VALUES(14,NULL,1,9003,6960063375962115947,1795680300000,0,1,NULL,1,6,1,192,36,6,1795688155113,NULL,NULL,NULL,NULL,NULL,NULL,'0.7',NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL);
INSERT INTO reading VALUES(15,7,1,9004,-4046554843660017468,1795680420000,0,1,NULL,NULL,7,1,32,41,2,1795688155140,NULL,'R2002',NULL,NULL,NULL,NULL,'0.7',NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL);
INSERT INTO reading VALUES(16,8,2,79,-4385367735766630070,1795680480000,6,1,NULL,NULL,7,1,74,37,3,1795688155140,NULL,'R2003',NULL,NULL,NULL,NULL,'0.4',NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL);
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
INSERT INTO declaration VALUES(1,1,5,2,0,40,2,1700000001000,NULL,0,0,'E','round','loose','retail','0.53','3.1','5.2','5.21','3.2','1','1200','{"shelf":"4"}');
INSERT INTO declaration VALUES(2,1,485606566393884122,4,28,20,2,1795674941728,NULL,0,NULL,'E',NULL,NULL,NULL,'0.53',NULL,NULL,NULL,NULL,NULL,NULL,NULL);
INSERT INTO declaration VALUES(3,4,315693785391913124,4,49,20,3,1795674941728,NULL,0,NULL,'F',NULL,NULL,NULL,'0.31',NULL,NULL,NULL,NULL,NULL,NULL,NULL);
INSERT INTO declaration VALUES(4,5,4391039920466359099,4,70,17,4,1795674941728,NULL,0,NULL,'G',NULL,NULL,NULL,'1.02',NULL,NULL,NULL,NULL,NULL,NULL,NULL);
INSERT INTO declaration VALUES(5,6,-6976815365208890222,5,17,12,2,1795688155112,NULL,0,NULL,NULL,NULL,NULL,NULL,'0.53',NULL,NULL,NULL,NULL,NULL,NULL,NULL);
INSERT INTO declaration VALUES(6,7,-4841569249893191080,5,30,12,3,1795688155112,NULL,0,NULL,NULL,NULL,NULL,NULL,'0.7',NULL,NULL,NULL,NULL,NULL,NULL,NULL);
CREATE TABLE scan (
  bench      TEXT NOT NULL,
  scanned_at INTEGER NOT NULL,
  stock      TEXT NOT NULL,
  position   TEXT NOT NULL,
  document   INTEGER NOT NULL REFERENCES document,
  PRIMARY KEY (bench, scanned_at, stock, position)
) WITHOUT ROWID;
INSERT INTO scan VALUES('bench-1',1700000000090,'R1042','',1);
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
INSERT INTO receipt VALUES(0,1,1,2,2,20,1700000001000);
INSERT INTO receipt VALUES(0,11,1,1,6,229,1795688155113);
INSERT INTO receipt VALUES(1,1,1,1,2,0,1700000001000);
CREATE TABLE aside (
  id         INTEGER PRIMARY KEY,
  intake     INTEGER NOT NULL REFERENCES intake,
  document   INTEGER NOT NULL REFERENCES document,
  offset     INTEGER NOT NULL, length INTEGER NOT NULL, line INTEGER NOT NULL,
  reason     TEXT NOT NULL,
  bytes      BLOB NOT NULL,
  truncated  INTEGER NOT NULL,
  at         INTEGER NOT NULL,
  UNIQUE (document, offset, length, reason)
);
INSERT INTO aside VALUES(1,1,1,250,12,6,'the finding is "ok": a mapping has to say what that means',X'6F6B',0,1700000000500);
INSERT INTO aside VALUES(2,1,3,218,36,7,'column "result" holds "Z", which the mapping has no word for (it has -, A, B, C and L)',X'412D303131372C3930352C323032362D31312D30325430393A32303A30305A2C51382C5A',0,1795674953051);
INSERT INTO aside VALUES(3,1,6,154,37,5,'column "result" holds "X", which the mapping has no word for (it has A, B and C)',X'422D32322C37382C323032362D31312D32362030393A30342C52323030322C302E37302C58',0,1795688155128);
CREATE TABLE file_position (
  intake     INTEGER NOT NULL REFERENCES intake,
  name       TEXT NOT NULL,
  size       INTEGER NOT NULL, mtime_ns INTEGER NOT NULL, ctime_ns INTEGER NOT NULL,
  offset     INTEGER NOT NULL,
  prefix     BLOB NOT NULL,                -- SHA-256 of the first `offset` bytes
  resume     BLOB NOT NULL,
  PRIMARY KEY (intake, name)
) WITHOUT ROWID;
INSERT INTO file_position VALUES(1,'a.csv',290,1795674941728540463,1795674941728540463,290,X'99D91C2C0A80465859EAD59FD4C7AC3EB95D360239937A943D7D1FA54A8A4C6D',X'');
INSERT INTO file_position VALUES(1,'b.csv',271,1795688155113019647,1795688155113019647,271,X'0DF683522C43C52C3F9F888624345DD7C395CEE0A583A8AD6BC8957375E0035A',X'');
INSERT INTO file_position VALUES(1,'c.csv',112,1795688155140442412,1795688155140442412,112,X'CAD6747CA68742AF1840C8D14B4BF3D8C2416FDF7F4DAEAA019A0118CBF739C4',X'');
INSERT INTO file_position VALUES(1,'today.csv',4096,1700000000000000000,1700000000000000001,4096,X'00112233445566778899AABBCCDDEEFF00112233445566778899AABBCCDDEEFF',X'01');
INSERT INTO file_position VALUES(2,'s.csv',88,1795674941728540463,1795674941728540463,88,X'852E6D1E2388E04A059731C760CB6DF5ADFD47B2A5CE0A651FBCDB0C6489A5CC',X'');
INSERT INTO file_position VALUES(2,'s3.csv',43,1795688155112977640,1795688155112977640,43,X'8F84EBE5113BA40E3CF7A2D28945778B986BE6848555877C64783689CDC92EEB',X'');
CREATE TABLE cases (
  number     INTEGER PRIMARY KEY,          -- subject * 65536 + the how-manyeth case of the subject, from 0
  first_at   INTEGER NOT NULL,
  last_at    INTEGER NOT NULL,
  state      INTEGER NOT NULL,             -- 0 open, 1 merged, 2 empty
  merged_into INTEGER REFERENCES cases,
  sequence   INTEGER NOT NULL              -- of its last outcome
);
INSERT INTO cases VALUES(65536,1700000000100,1700000000100,0,NULL,3);
INSERT INTO cases VALUES(65537,1700000000100,1700000000100,1,65536,1);
INSERT INTO cases VALUES(65538,1793610930000,1793610990000,0,NULL,2);
INSERT INTO cases VALUES(131072,1700000000300,1700000000300,2,NULL,1);
INSERT INTO cases VALUES(262144,1793611050000,1793611080000,0,NULL,2);
INSERT INTO cases VALUES(327680,1793611140000,1793611140000,0,NULL,2);
INSERT INTO cases VALUES(393216,1795680000000,1795680120000,0,NULL,1);
INSERT INTO cases VALUES(458752,1795680180000,1795680420000,0,NULL,2);
INSERT INTO cases VALUES(524288,1795680480000,1795680480000,0,NULL,1);
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
  decided_at INTEGER NOT NULL, instruments INTEGER, dissent INTEGER, evidence TEXT, measured BLOB,
  PRIMARY KEY (case_number, sequence)
) WITHOUT ROWID;
INSERT INTO outcome VALUES(65536,1,0,NULL,0,'more_readings',6,1,0,0,2,0,0,0,NULL,NULL,0,NULL,1,1700000000600,NULL,NULL,NULL,NULL);
INSERT INTO outcome VALUES(65536,2,1,0,0,'as_declared',9,2,1,1,2,3,0,0,0,1,0,NULL,1,1700000000700,NULL,NULL,NULL,NULL);
INSERT INTO outcome VALUES(65536,3,0,1,0,'more_readings_needed',6,1,0,0,2,1,0,2,0,1,0,NULL,2,1795674953055,1,0,'{"said":["natural","A-0117",1],"stone":{"carat":"0.53","color":"E","shape":"round","mount":"loose","stones":"1","value":"1200","channel":"retail"},"carat_estimate":{"carat":"0.5288","low":"0.5081","high":"0.5495","plausible":true}}',X'0203');
INSERT INTO outcome VALUES(65537,1,2,NULL,7,'merged',0,0,0,0,0,0,2,2,NULL,NULL,1,65536,1,1700000000700,NULL,NULL,NULL,NULL);
INSERT INTO outcome VALUES(65538,1,1,NULL,0,'as_declared',12,2,0,0,2,0,0,2,0,1,0,NULL,2,1795674953052,1,0,'{"said":["natural","A-0117",2],"stone":{"carat":"0.53","color":"E","shape":"round","mount":"loose","stones":"1","value":"1200","channel":"retail"},"carat_estimate":{"carat":"0.5288","low":"0.5081","high":"0.5495","plausible":true}}',X'0A000200');
INSERT INTO outcome VALUES(65538,2,1,1,0,'as_declared',12,2,0,0,2,0,0,2,0,2,0,NULL,2,1795674953056,1,0,'{"said":["natural","A-0117",2],"stone":{"carat":"0.53","color":"E"}}',X'0A000200');
INSERT INTO outcome VALUES(131072,1,2,1,6,'findings_differ',4,2,0,0,2,0,1,1,1,NULL,2,NULL,1,1700000000800,NULL,NULL,NULL,NULL);
INSERT INTO outcome VALUES(262144,1,3,NULL,6,'findings_differ',4,2,0,0,2,0,2,2,NULL,NULL,0,NULL,2,1795674953052,2,1,'{"said":["natural","B-22",1,"laboratory_grown","A-0117",1]}',X'0E000200');
INSERT INTO outcome VALUES(262144,2,3,3,6,'findings_differ',4,2,0,0,2,0,0,2,0,3,0,NULL,2,1795674953056,2,1,'{"said":["natural","B-22",1,"laboratory_grown","A-0117",1],"stone":{"carat":"0.31","color":"F"}}',X'0E000200');
INSERT INTO outcome VALUES(327680,1,0,NULL,4,'more_readings_needed',6,1,0,0,2,0,2,2,NULL,NULL,0,NULL,2,1795674953052,1,0,'{"said":["simulant","A-0117",1]}',X'1200');
INSERT INTO outcome VALUES(327680,2,0,0,4,'more_readings_needed',6,1,0,0,2,0,0,2,0,4,0,NULL,2,1795674953056,1,0,'{"said":["simulant","A-0117",1],"stone":{"carat":"1.02","color":"G"}}',X'1200');
INSERT INTO outcome VALUES(393216,1,1,NULL,0,'as_declared',12,2,0,0,2,1,0,2,0,5,0,NULL,4,1795688155129,1,0,'{"said":["natural","A-0117",2],"stone":{"carat":"0.53"}}',X'16000200');
INSERT INTO outcome VALUES(458752,1,0,NULL,4,'more_readings_needed',6,1,0,0,2,0,2,2,0,6,0,NULL,4,1795688155129,1,0,'{"said":["simulant","B-22",1],"stone":{"carat":"0.7"}}',X'1A00');
INSERT INTO outcome VALUES(458752,2,3,0,6,'findings_differ',4,2,0,0,2,0,0,2,0,6,0,NULL,4,1795688155154,2,1,'{"said":["simulant","B-22",1,"natural","A-0117",1],"stone":{"carat":"0.7"}}',X'1A000400');
INSERT INTO outcome VALUES(524288,1,0,NULL,7,'no_valid_measurement',2,0,1,0,2,0,2,2,NULL,NULL,0,NULL,4,1795688155154,0,0,NULL,X'2000');
CREATE TABLE delivery (
  id         INTEGER PRIMARY KEY,
  outlet     INTEGER NOT NULL REFERENCES outlet,
  case_number INTEGER NOT NULL,
  sequence   INTEGER NOT NULL,
  state      INTEGER NOT NULL,             -- 0 waiting 1 sent 2 parked
  attempts   INTEGER NOT NULL,
  due_at     INTEGER,                      -- null: an earlier outcome of the case goes first
  status     INTEGER NOT NULL,             -- HTTP status of the last attempt, 0 = none came
  note       TEXT NOT NULL,
  changed_at INTEGER NOT NULL
, reference TEXT, made INTEGER, told INTEGER);
INSERT INTO delivery VALUES(1,1,65536,1,1,1,1700000000600,204,'',1700000000650,NULL,NULL,NULL);
INSERT INTO delivery VALUES(2,1,65536,2,2,4,NULL,0,'127.0.0.1:7481: cannot connect: Connection refused; given up after 4 tries',1795674953052,NULL,NULL,NULL);
INSERT INTO delivery VALUES(3,2,65536,2,2,1,NULL,410,'gone',1700000000900,NULL,NULL,NULL);
INSERT INTO delivery VALUES(4,1,65538,1,1,2,NULL,204,'',1795674953980,NULL,NULL,NULL);
INSERT INTO delivery VALUES(5,2,65538,1,0,0,1795674953052,0,'',1795674953052,NULL,NULL,NULL);
INSERT INTO delivery VALUES(6,1,262144,1,1,4,NULL,200,'',1795688155131,NULL,4,NULL);
INSERT INTO delivery VALUES(7,2,262144,1,0,0,1795674953052,0,'',1795674953052,NULL,NULL,NULL);
INSERT INTO delivery VALUES(8,1,327680,1,2,3,NULL,422,'answered 422: the receiver does not take this message; its own log should say why; given up after 3 tries',1795674956043,NULL,NULL,NULL);
INSERT INTO delivery VALUES(9,2,327680,1,0,0,1795674953052,0,'',1795674953052,NULL,NULL,NULL);
INSERT INTO delivery VALUES(10,1,65536,3,1,2,NULL,204,'',1795674953974,NULL,NULL,NULL);
INSERT INTO delivery VALUES(11,2,65536,3,0,0,1795674953055,0,'',1795674953055,NULL,NULL,NULL);
INSERT INTO delivery VALUES(12,1,65538,2,1,1,NULL,204,'',1795674953981,NULL,NULL,NULL);
INSERT INTO delivery VALUES(13,2,65538,2,0,0,NULL,0,'',1795674953056,NULL,NULL,NULL);
INSERT INTO delivery VALUES(14,1,262144,2,1,1,NULL,200,'',1795688155134,NULL,1,NULL);
INSERT INTO delivery VALUES(15,2,262144,2,0,0,NULL,0,'',1795674953056,NULL,NULL,NULL);
INSERT INTO delivery VALUES(16,1,327680,2,2,3,NULL,422,'answered 422: the receiver does not take this message; its own log should say why; given up after 3 tries',1795674959044,NULL,NULL,NULL);
INSERT INTO delivery VALUES(17,2,327680,2,0,0,NULL,0,'',1795674953056,NULL,NULL,NULL);
INSERT INTO delivery VALUES(18,1,393216,1,0,0,1795688155217,200,'',1795688155217,NULL,1,1);
INSERT INTO delivery VALUES(19,2,393216,1,0,0,1795688155129,0,'',1795688155129,NULL,NULL,NULL);
INSERT INTO delivery VALUES(20,1,458752,1,1,1,NULL,200,'',1795688155134,NULL,1,NULL);
INSERT INTO delivery VALUES(21,2,458752,1,0,0,1795688155129,0,'',1795688155129,NULL,NULL,NULL);
INSERT INTO delivery VALUES(22,1,458752,2,0,2,1795688155197,503,'answered 503',1795688155187,NULL,2,NULL);
INSERT INTO delivery VALUES(23,2,458752,2,0,0,NULL,0,'',1795688155154,NULL,NULL,NULL);
INSERT INTO delivery VALUES(24,1,524288,1,0,2,1795688155198,503,'answered 503',1795688155188,NULL,2,NULL);
INSERT INTO delivery VALUES(25,2,524288,1,0,0,1795688155154,0,'',1795688155154,NULL,NULL,NULL);
CREATE TABLE activation (
  id         INTEGER PRIMARY KEY,
  house      INTEGER NOT NULL REFERENCES house,
  at         INTEGER NOT NULL,
  valid_from INTEGER,
  approved_by TEXT,
  why        TEXT
);
INSERT INTO activation VALUES(1,2,1795674953048,NULL,NULL,NULL);
INSERT INTO activation VALUES(2,4,1795688155126,NULL,NULL,NULL);
CREATE TABLE shadow (
  case_number INTEGER NOT NULL,
  sequence   INTEGER NOT NULL,
  house      INTEGER NOT NULL REFERENCES house,
  disposition INTEGER NOT NULL,
  reason     TEXT NOT NULL,
  rule       INTEGER NOT NULL,
  PRIMARY KEY (case_number, sequence, house),
  FOREIGN KEY (case_number, sequence) REFERENCES outcome
) WITHOUT ROWID;
INSERT INTO shadow VALUES(65536,3,3,0,'more_readings_needed',6);
INSERT INTO shadow VALUES(65538,1,3,0,'more_readings_needed',6);
INSERT INTO shadow VALUES(65538,2,3,0,'more_readings_needed',6);
INSERT INTO shadow VALUES(262144,1,3,3,'findings_differ',4);
INSERT INTO shadow VALUES(262144,2,3,3,'findings_differ',4);
INSERT INTO shadow VALUES(327680,1,3,0,'more_readings_needed',6);
INSERT INTO shadow VALUES(327680,2,3,0,'more_readings_needed',6);
CREATE TABLE attempt (
  delivery   INTEGER NOT NULL REFERENCES delivery,
  number     INTEGER NOT NULL,
  at         INTEGER NOT NULL,
  took       INTEGER NOT NULL,
  status     INTEGER NOT NULL,
  note       TEXT,
  answer     BLOB,
  PRIMARY KEY (delivery, number)
) WITHOUT ROWID;
INSERT INTO attempt VALUES(6,4,1795688155129,2,200,NULL,X'7B227265666572656E6365223A223962316633613532227D');
INSERT INTO attempt VALUES(14,1,1795688155132,3,200,NULL,X'7B227265666572656E6365223A223962316633613532227D');
INSERT INTO attempt VALUES(18,1,1795688155130,2,200,NULL,X'7B227265666572656E6365223A223962316633613532227D');
INSERT INTO attempt VALUES(20,1,1795688155131,3,200,NULL,X'7B227265666572656E6365223A223962316633613532227D');
INSERT INTO attempt VALUES(22,1,1795688155155,2,422,'answered 422: the receiver does not take this message; its own log should say why',X'7B227265666572656E6365223A223962316633613532227D');
INSERT INTO attempt VALUES(22,2,1795688155186,1,503,'answered 503',X'7B227265666572656E6365223A223962316633613532227D');
INSERT INTO attempt VALUES(24,1,1795688155155,1,422,'answered 422: the receiver does not take this message; its own log should say why',X'7B227265666572656E6365223A223962316633613532227D');
INSERT INTO attempt VALUES(24,2,1795688155186,2,503,'answered 503',X'7B227265666572656E6365223A223962316633613532227D');
CREATE TABLE attempt_count (
  outlet     INTEGER NOT NULL REFERENCES outlet,
  day        INTEGER NOT NULL,
  status     INTEGER NOT NULL,
  count      INTEGER NOT NULL,
  took       INTEGER NOT NULL,
  PRIMARY KEY (outlet, day, status)
) WITHOUT ROWID;
INSERT INTO attempt_count VALUES(1,20418,204,12,431);
CREATE INDEX document_known ON document (digest) WHERE complete = 1;
CREATE UNIQUE INDEX reading_same ON reading (instrument, slot, content);
CREATE INDEX reading_of_subject ON reading (subject, measured_at);
CREATE INDEX reading_near ON reading (instrument, measured_at) WHERE near = 1;
CREATE UNIQUE INDEX declaration_same ON declaration (subject, content);
CREATE INDEX delivery_due ON delivery (outlet, due_at) WHERE state = 0 AND due_at IS NOT NULL;
CREATE INDEX delivery_waiting ON delivery (case_number, outlet, sequence) WHERE state = 0;
CREATE INDEX delivery_of_case ON delivery (case_number, sequence);
CREATE INDEX delivery_parked ON delivery (outlet) WHERE state = 2;
CREATE INDEX attempt_at ON attempt (at);

PRAGMA application_id = 1195987524;
PRAGMA user_version = 3;
COMMIT;
