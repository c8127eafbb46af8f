-- What became of a swing after it was sent: corrected marks, not to be counted, given to another student. Of most swings
-- nothing, and they have no row; the counting ones are told apart beside the swing, for its own row is long.
CREATE TABLE swing_edit (
  swing_id TEXT PRIMARY KEY NOT NULL REFERENCES swing (id) ON DELETE CASCADE,
  version INTEGER NOT NULL DEFAULT 1 CHECK (version >= 1), -- of all of it: the ETag
  changed_at INTEGER NOT NULL DEFAULT 0,
  revision INTEGER NOT NULL DEFAULT 1 CHECK (revision >= 1), -- of the document in swing
  revised_by TEXT,
  revised_at INTEGER,
  revised_reason TEXT CHECK (length(revised_reason) BETWEEN 1 AND 2000),
  void_by TEXT,
  void_at INTEGER, -- NULL = it counts
  void_reason TEXT CHECK (length(void_reason) BETWEEN 1 AND 2000),
  moved_by TEXT,
  moved_at INTEGER,
  moved_reason TEXT CHECK (length(moved_reason) BETWEEN 1 AND 2000),
  CHECK ((revision = 1) = (revised_at IS NULL)),
  CHECK ((revised_by IS NULL) = (revised_at IS NULL) AND (revised_reason IS NULL) = (revised_at IS NULL)),
  CHECK ((void_by IS NULL) = (void_at IS NULL) AND (void_reason IS NULL) = (void_at IS NULL)),
  CHECK ((moved_by IS NULL) = (moved_at IS NULL) AND (moved_reason IS NULL) = (moved_at IS NULL))
) STRICT, WITHOUT ROWID;

-- Documents that were in swing before the present one.
CREATE TABLE revision (
  id TEXT PRIMARY KEY NOT NULL CHECK (length(id) = 36),
  swing_id TEXT NOT NULL REFERENCES swing (id) ON DELETE CASCADE,
  number INTEGER NOT NULL CHECK (number >= 1),
  made_by TEXT NOT NULL,
  created INTEGER NOT NULL,
  reason TEXT CHECK (length(reason) BETWEEN 1 AND 2000), -- NULL of the first
  report INTEGER REFERENCES report (number) ON DELETE SET NULL, -- the last that was made of it
  document_hash BLOB NOT NULL CHECK (length(document_hash) = 32),
  document_size INTEGER NOT NULL,
  size INTEGER,
  packed BLOB,
  document BLOB NOT NULL,
  CHECK (length(document) = document_size),
  UNIQUE (swing_id, number)
) STRICT;
CREATE INDEX revision_by_report ON revision (report) WHERE report IS NOT NULL;
