-- What the pages need: stills of a swing, one-time links into an account, calendar feeds, and the audit by account.

-- One picture for each view and checkpoint; already stripped of everything but its pixels.
CREATE TABLE still (
  id TEXT PRIMARY KEY NOT NULL CHECK (length(id) = 36),
  swing_id TEXT NOT NULL REFERENCES swing (id) ON DELETE CASCADE,
  view TEXT NOT NULL CHECK (view IN ('down_the_line', 'face_on')),
  checkpoint TEXT NOT NULL CHECK (length(checkpoint) BETWEEN 1 AND 32),
  media_type TEXT NOT NULL CHECK (media_type IN ('image/jpeg', 'image/png', 'image/webp')),
  width INTEGER NOT NULL CHECK (width BETWEEN 1 AND 4096),
  height INTEGER NOT NULL CHECK (height BETWEEN 1 AND 4096),
  put_by TEXT NOT NULL,
  created INTEGER NOT NULL,
  picture_hash BLOB NOT NULL CHECK (length(picture_hash) = 32),
  picture_size INTEGER NOT NULL,
  picture BLOB NOT NULL,
  CHECK (length(picture) = picture_size),
  UNIQUE (swing_id, view, checkpoint)
) STRICT;

-- At most one standing link for each account; using it or making another removes it.
CREATE TABLE account_link (
  token_hash BLOB PRIMARY KEY NOT NULL CHECK (length(token_hash) = 32),
  account_id TEXT NOT NULL UNIQUE REFERENCES account (id) ON DELETE CASCADE,
  made_by TEXT NOT NULL,
  created INTEGER NOT NULL,
  expires INTEGER NOT NULL
) STRICT, WITHOUT ROWID;

-- One feed for each account and student.
CREATE TABLE calendar (
  token_hash BLOB PRIMARY KEY NOT NULL CHECK (length(token_hash) = 32),
  account_id TEXT NOT NULL REFERENCES account (id) ON DELETE CASCADE,
  student_id TEXT NOT NULL REFERENCES student (id) ON DELETE CASCADE,
  created INTEGER NOT NULL,
  UNIQUE (account_id, student_id)
) STRICT, WITHOUT ROWID;
CREATE INDEX calendar_by_student ON calendar (student_id);

CREATE INDEX audit_by_account ON audit (account_id, id) WHERE account_id IS NOT NULL;
