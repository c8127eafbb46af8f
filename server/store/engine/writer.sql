-- The transactions of the writer (a savepoint for each job) and of readers.

-- name: WRITER_BEGIN_WRITE :exec
BEGIN IMMEDIATE;

-- name: WRITER_COMMIT :exec
COMMIT;

-- name: WRITER_ROLLBACK :exec
ROLLBACK;

-- name: WRITER_SAVE :exec
SAVEPOINT job;

-- name: WRITER_RELEASE :exec
RELEASE job;

-- name: WRITER_UNDO :exec
ROLLBACK TO job;

-- name: WRITER_BEGIN_READ :exec
BEGIN;
