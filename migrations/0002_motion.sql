-- Marker files beside swing documents, and the club's own names of markers.

-- Built anew, so that the document stays the last column.
CREATE TABLE swing_2 (
  id TEXT PRIMARY KEY NOT NULL CHECK (length(id) = 36),
  student_id TEXT NOT NULL REFERENCES student (id) ON DELETE CASCADE,
  lesson_id TEXT REFERENCES lesson (id) ON DELETE SET NULL,
  uploaded_by TEXT NOT NULL,
  recorded_at INTEGER NOT NULL,
  received_at INTEGER NOT NULL,
  media_type TEXT NOT NULL DEFAULT 'application/json'
    CHECK (media_type IN ('application/json', 'application/c3d', 'text/tab-separated-values')),
  reading TEXT, -- "leadside.reading/1": what a marker file doesn't say
  document_hash BLOB NOT NULL CHECK (length(document_hash) = 32),
  document_size INTEGER NOT NULL,
  document BLOB NOT NULL,
  CHECK (length(document) = document_size),
  CHECK ((media_type = 'application/json') = (reading IS NULL))
) STRICT;
INSERT INTO swing_2 (id, student_id, lesson_id, uploaded_by, recorded_at, received_at, document_hash, document_size,
  document)
  SELECT id, student_id, lesson_id, uploaded_by, recorded_at, received_at, document_hash, document_size, document
  FROM swing ORDER BY id;
DROP TABLE swing;
ALTER TABLE swing_2 RENAME TO swing;
CREATE INDEX swing_by_student ON swing (student_id, id);
CREATE INDEX swing_by_lesson ON swing (lesson_id, id) WHERE lesson_id IS NOT NULL;

-- Never changed, never deleted. Number 1 is the map that comes with the program and is not kept here.
CREATE TABLE marker_map (
  number INTEGER PRIMARY KEY CHECK (number > 1),
  created_by TEXT NOT NULL,
  created INTEGER NOT NULL,
  json TEXT NOT NULL
) STRICT;
