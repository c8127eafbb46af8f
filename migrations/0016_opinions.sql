-- A second opinion is given before others' are seen: what was said first stays as it was, and what was said later, others'
-- in sight, stands beside it.
ALTER TABLE look ADD COLUMN version INTEGER NOT NULL DEFAULT 1;
ALTER TABLE look ADD COLUMN changed_at INTEGER; -- NULL = as it was said first
ALTER TABLE look ADD COLUMN later TEXT CHECK ((later IS NULL) = (changed_at IS NULL));
CREATE INDEX look_by_created ON look (created);
