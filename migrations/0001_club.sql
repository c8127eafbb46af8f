-- The club's file. Ids are UUIDv7 text, times are UTC milliseconds, version counts the edits of a row (its ETag).
-- What belongs to a student goes with the student (ON DELETE CASCADE). The account that did something is written
-- without a reference on big tables, so that removing a student's own account never searches them.

CREATE TABLE club (
  id INTEGER PRIMARY KEY CHECK (id = 1),
  name TEXT NOT NULL CHECK (length(name) BETWEEN 1 AND 200),
  notes TEXT,
  settings TEXT NOT NULL DEFAULT '{}',
  created INTEGER NOT NULL,
  version INTEGER NOT NULL DEFAULT 1
) STRICT;

CREATE TABLE student (
  id TEXT PRIMARY KEY NOT NULL CHECK (length(id) = 36),
  name TEXT NOT NULL CHECK (length(name) BETWEEN 1 AND 200),
  hand TEXT NOT NULL CHECK (hand IN ('right', 'left')),
  sex TEXT CHECK (sex IN ('female', 'male')),
  birth_year INTEGER CHECK (birth_year BETWEEN 1880 AND 2200),
  height_m REAL CHECK (height_m BETWEEN 0.5 AND 2.6),
  handicap REAL CHECK (handicap BETWEEN -10 AND 54),
  tendencies TEXT,
  pain INTEGER NOT NULL DEFAULT 0 CHECK (pain >= 0),
  pain_note TEXT,
  wants TEXT,
  junior INTEGER NOT NULL DEFAULT 0 CHECK (junior IN (0, 1)),
  consent_by TEXT,
  consent_at INTEGER,
  created INTEGER NOT NULL,
  archived INTEGER,
  version INTEGER NOT NULL DEFAULT 1,
  CHECK ((consent_by IS NULL) = (consent_at IS NULL))
) STRICT, WITHOUT ROWID;

CREATE TABLE account (
  id TEXT PRIMARY KEY NOT NULL CHECK (length(id) = 36),
  role TEXT NOT NULL CHECK (role IN ('head', 'coach', 'student', 'guardian')),
  name TEXT NOT NULL CHECK (length(name) BETWEEN 1 AND 200),
  sign_in TEXT NOT NULL CHECK (length(sign_in) BETWEEN 1 AND 200),
  sign_in_key TEXT NOT NULL UNIQUE,
  password_hash TEXT,
  password_temporary INTEGER NOT NULL DEFAULT 0 CHECK (password_temporary IN (0, 1)),
  student_id TEXT UNIQUE REFERENCES student (id) ON DELETE CASCADE,
  created INTEGER NOT NULL,
  disabled INTEGER,
  version INTEGER NOT NULL DEFAULT 1,
  CHECK ((role = 'student') = (student_id IS NOT NULL))
) STRICT, WITHOUT ROWID;
CREATE INDEX account_by_role ON account (role, id);

CREATE TABLE guardian (
  account_id TEXT NOT NULL REFERENCES account (id) ON DELETE CASCADE,
  student_id TEXT NOT NULL REFERENCES student (id) ON DELETE CASCADE,
  created INTEGER NOT NULL,
  PRIMARY KEY (account_id, student_id)
) STRICT, WITHOUT ROWID;
CREATE INDEX guardian_by_student ON guardian (student_id, account_id);

CREATE TABLE team (
  account_id TEXT NOT NULL REFERENCES account (id) ON DELETE CASCADE,
  student_id TEXT NOT NULL REFERENCES student (id) ON DELETE CASCADE,
  created INTEGER NOT NULL,
  PRIMARY KEY (account_id, student_id)
) STRICT, WITHOUT ROWID;
CREATE INDEX team_by_student ON team (student_id, account_id);

CREATE TABLE device (
  id TEXT PRIMARY KEY NOT NULL CHECK (length(id) = 36),
  name TEXT NOT NULL CHECK (length(name) BETWEEN 1 AND 200),
  token_hash BLOB NOT NULL UNIQUE CHECK (length(token_hash) = 32),
  enrolled_by TEXT NOT NULL,
  created INTEGER NOT NULL,
  last_seen INTEGER NOT NULL,
  revoked INTEGER,
  version INTEGER NOT NULL DEFAULT 1
) STRICT, WITHOUT ROWID;

CREATE TABLE session (
  token_hash BLOB PRIMARY KEY NOT NULL CHECK (length(token_hash) = 32),
  id TEXT NOT NULL UNIQUE CHECK (length(id) = 36),
  account_id TEXT NOT NULL REFERENCES account (id) ON DELETE CASCADE,
  device_id TEXT REFERENCES device (id) ON DELETE CASCADE,
  kind TEXT NOT NULL CHECK (kind IN ('bearer', 'cookie')),
  created INTEGER NOT NULL,
  last_seen INTEGER NOT NULL,
  expires INTEGER NOT NULL,
  idle_ms INTEGER NOT NULL CHECK (idle_ms > 0),
  revoked INTEGER
) STRICT, WITHOUT ROWID;
CREATE INDEX session_by_account ON session (account_id, id);
CREATE INDEX session_by_device ON session (device_id) WHERE device_id IS NOT NULL;
CREATE INDEX session_by_expiry ON session (expires);

CREATE TABLE note (
  id TEXT PRIMARY KEY NOT NULL CHECK (length(id) = 36),
  student_id TEXT NOT NULL REFERENCES student (id) ON DELETE CASCADE,
  author TEXT NOT NULL,
  text TEXT NOT NULL CHECK (length(text) BETWEEN 1 AND 20000),
  readers INTEGER NOT NULL CHECK (readers BETWEEN 0 AND 3),
  created INTEGER NOT NULL
) STRICT, WITHOUT ROWID;
CREATE INDEX note_by_student ON note (student_id, id);

-- Never changed, never deleted.
CREATE TABLE standard (
  number INTEGER PRIMARY KEY,
  label TEXT NOT NULL CHECK (length(label) BETWEEN 1 AND 200),
  created_by TEXT,
  created INTEGER NOT NULL,
  json TEXT NOT NULL
) STRICT;

CREATE TABLE drill (
  id TEXT PRIMARY KEY NOT NULL CHECK (length(id) BETWEEN 1 AND 64),
  name TEXT NOT NULL CHECK (length(name) BETWEEN 1 AND 200),
  built_in INTEGER NOT NULL CHECK (built_in IN (0, 1)),
  created INTEGER NOT NULL,
  retired INTEGER,
  version INTEGER NOT NULL DEFAULT 1,
  json TEXT NOT NULL
) STRICT, WITHOUT ROWID;

CREATE TABLE lesson (
  id TEXT PRIMARY KEY NOT NULL CHECK (length(id) = 36),
  student_id TEXT NOT NULL REFERENCES student (id) ON DELETE CASCADE,
  coach TEXT NOT NULL,
  held_at INTEGER NOT NULL,
  created INTEGER NOT NULL,
  note TEXT,
  version INTEGER NOT NULL DEFAULT 1
) STRICT, WITHOUT ROWID;
CREATE INDEX lesson_by_student ON lesson (student_id, id);

-- The document is what the tablet sent, byte for byte; last, so that reading the rest never touches its pages.
CREATE TABLE swing (
  id TEXT PRIMARY KEY NOT NULL CHECK (length(id) = 36),
  student_id TEXT NOT NULL REFERENCES student (id) ON DELETE CASCADE,
  lesson_id TEXT REFERENCES lesson (id) ON DELETE SET NULL,
  uploaded_by TEXT NOT NULL,
  recorded_at INTEGER NOT NULL,
  received_at INTEGER NOT NULL,
  document_hash BLOB NOT NULL CHECK (length(document_hash) = 32),
  document_size INTEGER NOT NULL,
  document BLOB NOT NULL,
  CHECK (length(document) = document_size)
) STRICT;
CREATE INDEX swing_by_student ON swing (student_id, id);
CREATE INDEX swing_by_lesson ON swing (lesson_id, id) WHERE lesson_id IS NOT NULL;

-- Scoring again adds a row; the newest is the current one.
CREATE TABLE report (
  number INTEGER PRIMARY KEY,
  id TEXT NOT NULL UNIQUE CHECK (length(id) = 36),
  swing_id TEXT REFERENCES swing (id) ON DELETE CASCADE,
  lesson_id TEXT REFERENCES lesson (id) ON DELETE CASCADE,
  standard INTEGER NOT NULL REFERENCES standard (number),
  created INTEGER NOT NULL,
  json TEXT NOT NULL,
  CHECK ((swing_id IS NULL) <> (lesson_id IS NULL))
) STRICT;
CREATE INDEX report_by_swing ON report (swing_id) WHERE swing_id IS NOT NULL;
CREATE INDEX report_by_lesson ON report (lesson_id) WHERE lesson_id IS NOT NULL;

CREATE TABLE look (
  id TEXT PRIMARY KEY NOT NULL CHECK (length(id) = 36),
  swing_id TEXT NOT NULL REFERENCES swing (id) ON DELETE CASCADE,
  account_id TEXT NOT NULL,
  created INTEGER NOT NULL,
  json TEXT NOT NULL,
  UNIQUE (swing_id, account_id)
) STRICT, WITHOUT ROWID;

-- Two places for open fixes: the index below makes a third impossible, whoever writes.
CREATE TABLE fix (
  id TEXT PRIMARY KEY NOT NULL CHECK (length(id) = 36),
  student_id TEXT NOT NULL REFERENCES student (id) ON DELETE CASCADE,
  fault TEXT NOT NULL CHECK (length(fault) BETWEEN 1 AND 64),
  place INTEGER NOT NULL CHECK (place IN (1, 2)),
  opened_by TEXT NOT NULL,
  opened_at INTEGER NOT NULL,
  status TEXT NOT NULL CHECK (status IN ('open', 'closed', 'changed')),
  ended_at INTEGER,
  reason TEXT,
  overrule TEXT,
  baseline_swing TEXT REFERENCES swing (id) ON DELETE SET NULL,
  baseline_lesson TEXT REFERENCES lesson (id) ON DELETE SET NULL,
  version INTEGER NOT NULL DEFAULT 1,
  CHECK ((status = 'open') = (ended_at IS NULL))
) STRICT, WITHOUT ROWID;
CREATE INDEX fix_by_student ON fix (student_id, id);
CREATE UNIQUE INDEX fix_open_place ON fix (student_id, place) WHERE status = 'open';
CREATE UNIQUE INDEX fix_open_fault ON fix (student_id, fault) WHERE status = 'open';
CREATE INDEX fix_by_baseline_swing ON fix (baseline_swing) WHERE baseline_swing IS NOT NULL;
CREATE INDEX fix_by_baseline_lesson ON fix (baseline_lesson) WHERE baseline_lesson IS NOT NULL;

CREATE TABLE fix_event (
  number INTEGER PRIMARY KEY,
  fix_id TEXT NOT NULL REFERENCES fix (id) ON DELETE CASCADE,
  at INTEGER NOT NULL,
  account_id TEXT NOT NULL,
  status TEXT NOT NULL CHECK (status IN ('open', 'closed', 'changed')),
  reason TEXT
) STRICT;
CREATE INDEX fix_event_by_fix ON fix_event (fix_id);

CREATE TABLE homework (
  id TEXT PRIMARY KEY NOT NULL CHECK (length(id) = 36),
  fix_id TEXT NOT NULL REFERENCES fix (id) ON DELETE CASCADE,
  student_id TEXT NOT NULL REFERENCES student (id) ON DELETE CASCADE,
  drill_id TEXT NOT NULL REFERENCES drill (id),
  sessions_per_week INTEGER NOT NULL CHECK (sessions_per_week BETWEEN 1 AND 21),
  minutes INTEGER NOT NULL CHECK (minutes BETWEEN 1 AND 180),
  self_check_every INTEGER NOT NULL CHECK (self_check_every >= 0),
  retest_at INTEGER NOT NULL,
  confirmed TEXT,
  assigned_by TEXT NOT NULL,
  created INTEGER NOT NULL,
  ended INTEGER,
  version INTEGER NOT NULL DEFAULT 1
) STRICT, WITHOUT ROWID;
CREATE INDEX homework_by_student ON homework (student_id, id);
CREATE UNIQUE INDEX homework_standing ON homework (fix_id, drill_id) WHERE ended IS NULL;
CREATE INDEX homework_by_fix ON homework (fix_id);
CREATE INDEX homework_by_drill ON homework (drill_id);

CREATE TABLE homework_done (
  id TEXT PRIMARY KEY NOT NULL CHECK (length(id) = 36),
  homework_id TEXT NOT NULL REFERENCES homework (id) ON DELETE CASCADE,
  done_at INTEGER NOT NULL,
  account_id TEXT REFERENCES account (id) ON DELETE SET NULL,
  comment TEXT CHECK (length(comment) <= 2000)
) STRICT, WITHOUT ROWID;
CREATE INDEX homework_done_by_time ON homework_done (homework_id, done_at);
CREATE INDEX homework_done_by_homework ON homework_done (homework_id, id);
CREATE INDEX homework_done_by_account ON homework_done (account_id) WHERE account_id IS NOT NULL;

-- Ids only: nothing here refers to a row that may be erased.
CREATE TABLE audit (
  id TEXT PRIMARY KEY NOT NULL CHECK (length(id) = 36),
  at INTEGER NOT NULL,
  account_id TEXT,
  action TEXT NOT NULL CHECK (length(action) BETWEEN 1 AND 64),
  object_kind TEXT NOT NULL,
  object_id TEXT,
  student_id TEXT,
  detail TEXT
) STRICT, WITHOUT ROWID;
CREATE INDEX audit_by_student ON audit (student_id, id) WHERE student_id IS NOT NULL;
CREATE INDEX audit_by_object ON audit (object_id) WHERE object_id IS NOT NULL;

CREATE TABLE idempotency (
  principal TEXT NOT NULL,
  key TEXT NOT NULL CHECK (length(key) BETWEEN 1 AND 128),
  route TEXT NOT NULL,
  body_hash BLOB NOT NULL CHECK (length(body_hash) = 32),
  status INTEGER NOT NULL,
  object_kind TEXT,
  object_id TEXT,
  student_id TEXT REFERENCES student (id) ON DELETE CASCADE,
  created INTEGER NOT NULL,
  response TEXT NOT NULL,
  PRIMARY KEY (principal, key)
) STRICT;
CREATE INDEX idempotency_by_age ON idempotency (created);
CREATE INDEX idempotency_by_student ON idempotency (student_id) WHERE student_id IS NOT NULL;
