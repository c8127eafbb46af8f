-- What was ended for good, by id and time alone. The same stands in the file `erasures` beside this one, which a restored
-- backup doesn't bring along: what that file has and this table lacks is ended again (server/store/ledger.h).
CREATE TABLE ended (
  kind TEXT NOT NULL CHECK (length(kind) BETWEEN 1 AND 16),
  object_id TEXT NOT NULL CHECK (length(object_id) = 36),
  at INTEGER NOT NULL,
  PRIMARY KEY (kind, object_id)
) STRICT, WITHOUT ROWID;

-- mark: the newest start of a server on this file. copied: this file was made by `leadside backup`.
CREATE TABLE ledger (
  id INTEGER PRIMARY KEY CHECK (id = 1),
  mark TEXT NOT NULL DEFAULT '',
  copied INTEGER NOT NULL DEFAULT 0 CHECK (copied IN (0, 1))
) STRICT;
INSERT INTO ledger (id) VALUES (1);
