-- What waits for a student's coaches.

-- part: inbox_columns
i.created, s.name, d.id, d.homework_id, d.done_at, d.account_id, d.comment, d.passed, d.passed_of,
  d.pain_area, d.pain_level, h.drill_id, r.name, f.fault, h.paused_at, i.by_id, b.name, i.handover_id, i.fix_id,
  CASE i.kind
    WHEN 'handover' THEN o.note
    WHEN 'handover_accepted' THEN o.reason
    WHEN 'handover_declined' THEN o.reason
    WHEN 'fix_conflict' THEN f.overrule
    WHEN 'fix_changed' THEN f.reason
  END, iif(i.kind = 'fix_conflict', f.conflicts, NULL), iif(i.fix_id IS NULL, NULL, f.status)

-- part: join_inbox
CROSS JOIN student AS s ON s.id = i.student_id
LEFT JOIN homework_done AS d ON d.id = i.done_id
LEFT JOIN homework AS h ON h.id = d.homework_id
LEFT JOIN drill AS r ON r.id = h.drill_id
LEFT JOIN fix AS f ON f.id = coalesce(i.fix_id, h.fix_id)
LEFT JOIN handover AS o ON o.id = i.handover_id
LEFT JOIN account AS b ON b.id = i.by_id

-- ?2 of a count, ?5 of a list: now.
-- part: unseen
NOT EXISTS (SELECT 1 FROM inbox_seen AS n WHERE n.inbox_id = i.id AND n.account_id = ?1)

-- The team's, and those for the account alone.
-- part: own_inbox
i.id IN (
    SELECT j.id
    FROM team AS t
    CROSS JOIN inbox AS j ON j.student_id = t.student_id
    WHERE t.account_id = ?1
      AND j.account_id IS NULL
    UNION ALL
    SELECT j.id
    FROM inbox AS j
    WHERE j.account_id = ?1
  )

-- name: INBOX_INSERT :exec
-- head: urgent, and either asked for (?7) or no coach of the team would see it. What a coach does (?9) is told when there
-- is another to tell.
INSERT INTO inbox (
  id, student_id, kind, done_id, urgent, created, head, account_id, by_id, due_at, handover_id, fix_id
)
SELECT ?1, ?2, ?3, ?4, ?5, ?6,
  ?5 AND (
    ?7 OR NOT EXISTS (
      SELECT 1
      FROM team AS t
      CROSS JOIN account AS a ON a.id = t.account_id
      WHERE t.student_id = ?2
        AND a.role = 'coach'
        AND a.disabled IS NULL
    )
  ), ?8, ?9, ?10, ?11, ?12
WHERE CASE
  WHEN ?8 IS NOT NULL THEN EXISTS (SELECT 1 FROM account WHERE id = ?8)
  WHEN ?9 IS NOT NULL THEN EXISTS (
    SELECT 1
    FROM team AS t
    CROSS JOIN account AS a ON a.id = t.account_id
    WHERE t.student_id = ?2
      AND t.account_id <> ?9
      AND a.disabled IS NULL
  )
  ELSE 1
END;

-- name: INBOX_LIST :many
SELECT i.id, i.student_id, i.kind, i.urgent, {inbox_columns}
FROM inbox AS i
{join_inbox}
WHERE {own_inbox}
  AND (i.urgent, i.id) < (?2, ?3)
  AND coalesce(i.due_at, 0) <= ?5
  AND {unseen}
ORDER BY i.urgent DESC, i.id DESC
LIMIT ?4;

-- name: INBOX_LIST_HEAD :many
SELECT i.id, i.student_id, i.kind, i.head, {inbox_columns}
FROM inbox AS i
{join_inbox}
WHERE (i.head, i.id) < (?2, ?3)
  AND coalesce(i.due_at, 0) <= ?5
  AND (i.account_id IS NULL OR i.account_id = ?1)
  AND {unseen}
ORDER BY i.head DESC, i.id DESC
LIMIT ?4;

-- name: INBOX_COUNT :one
SELECT count(*)
FROM inbox AS i
WHERE {own_inbox}
  AND coalesce(i.due_at, 0) <= ?2
  AND {unseen};

-- name: INBOX_COUNT_HEAD :one
SELECT count(*)
FROM inbox AS i
WHERE i.id > ''
  AND coalesce(i.due_at, 0) <= ?2
  AND (i.account_id IS NULL OR i.account_id = ?1)
  AND {unseen};

-- name: INBOX_PLACE :one
SELECT urgent
FROM inbox
WHERE id = ?1;

-- name: INBOX_PLACE_HEAD :one
SELECT head
FROM inbox
WHERE id = ?1;

-- name: INBOX_WHOSE :one
SELECT student_id, account_id
FROM inbox
WHERE id = ?1;

-- name: INBOX_SEE :exec
INSERT INTO inbox_seen (inbox_id, account_id, at)
SELECT id, ?2, ?3
FROM inbox
WHERE id = ?1
ON CONFLICT (inbox_id, account_id) DO NOTHING;

-- name: INBOX_SEE_HANDOVER :exec
INSERT INTO inbox_seen (inbox_id, account_id, at)
SELECT id, ?2, ?3
FROM inbox
WHERE handover_id = ?1
  AND account_id = ?2
ON CONFLICT (inbox_id, account_id) DO NOTHING;
