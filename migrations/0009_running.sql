-- How long the club's server has been running in all, by its monotonic clock: time that a wall clock which was wrong for
-- a while can't have made up. A kept answer remembers when it was given by both clocks, and goes when both say so.
CREATE TABLE running (
  id INTEGER PRIMARY KEY CHECK (id = 1),
  ms INTEGER NOT NULL CHECK (ms >= 0)
) STRICT;
INSERT INTO running (id, ms) VALUES (1, 0);

ALTER TABLE idempotency ADD COLUMN ran INTEGER NOT NULL DEFAULT 0;
DROP INDEX idempotency_by_age;
CREATE INDEX idempotency_by_age ON idempotency (ran, created);
