-- When a student's entry was last changed, so that a program that keeps itself in step reads what is new alone. Fixes,
-- homework, swings and notes tell that by what they have already.
ALTER TABLE student ADD COLUMN updated_at INTEGER NOT NULL DEFAULT 0;
UPDATE student SET updated_at = created;
CREATE INDEX student_by_updated ON student (updated_at);
