-- What the ball did on the course: a round's shots as they were tallied, a list in JSON.
CREATE TABLE round (
  id TEXT PRIMARY KEY NOT NULL CHECK (length(id) = 36),
  student_id TEXT NOT NULL REFERENCES student (id) ON DELETE CASCADE,
  made_by TEXT NOT NULL,
  played_at INTEGER NOT NULL,
  created INTEGER NOT NULL,
  holes INTEGER NOT NULL CHECK (holes BETWEEN 1 AND 9),
  count INTEGER NOT NULL CHECK (count > 0),
  shots TEXT NOT NULL
) STRICT, WITHOUT ROWID;
CREATE INDEX round_by_student ON round (student_id, id);
