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
  END, iif(i.kind = 'fix_conflict', f.conflicts, NULL), iif(i.fix_id IS NULL, NULL, f.status), i.retest_id,
  i.due_at, i.request_id, q.scope, q.asked_at,
  CASE WHEN q.answered_at IS NULL THEN 0 WHEN c.withdrawn_at IS NULL THEN 1 ELSE -1 END,
  iif(i.kind IN ('coming_of_age', 'of_age'), s.adult_from, 0)

-- part: on_the_team
EXISTS (SELECT 1 FROM team WHERE account_id = ?1 AND student_id = i.student_id)

-- part: open_fault
(SELECT fault FROM fix WHERE student_id = s.id AND status = 'open' AND waits = 0 ORDER BY id DESC LIMIT 1)

-- part: join_inbox
CROSS JOIN student AS s ON s.id = i.student_id
LEFT JOIN homework_done AS d ON d.id = i.done_id
LEFT JOIN homework AS h ON h.id = d.homework_id
LEFT JOIN drill AS r ON r.id = h.drill_id
LEFT JOIN fix AS f ON f.id = coalesce(i.fix_id, h.fix_id)
LEFT JOIN handover AS o ON o.id = i.handover_id
LEFT JOIN account AS b ON b.id = i.by_id
LEFT JOIN consent_request AS q ON q.id = i.request_id
LEFT JOIN consent AS c ON c.id = q.consent_id

-- ?2 = now.
-- part: unseen
coalesce(j.due_at, 0) <= ?2
  AND NOT EXISTS (SELECT 1 FROM inbox_seen AS n WHERE n.inbox_id = j.id AND n.account_id = ?1)

-- The team's, and those for the account alone: told from indices, so that only a page's rows are looked at.
-- part: team_inbox
FROM team AS t
CROSS JOIN inbox AS j INDEXED BY inbox_by_student ON j.student_id = t.student_id
WHERE t.account_id = ?1
  AND j.account_id IS NULL
  AND {unseen}

-- part: alone_inbox
FROM inbox AS j
WHERE j.account_id = ?1
  AND {unseen}

-- part: head_inbox
FROM inbox AS j INDEXED BY inbox_by_head
WHERE j.head >= 0
  AND (j.account_id IS NULL OR j.account_id = ?1)
  AND {unseen}

-- name: INBOX_INSERT :exec
-- head: urgent, and either asked for (?7) or no coach of the team would see it. What a coach does (?9) is told when there
-- is another to tell.
INSERT INTO inbox (
  id, student_id, kind, done_id, urgent, created, head, account_id, by_id, due_at, handover_id, fix_id,
  retest_id
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
  ), ?8, ?9, ?10, ?11, ?12, ?13
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
-- to whom a student is only offered nothing of the student is shown
SELECT i.id, i.student_id, i.kind, i.urgent, {inbox_columns},
  iif({on_the_team}, {last_still}, NULL), iif({on_the_team}, {open_fault}, NULL)
FROM inbox AS i
{join_inbox}
WHERE i.id IN (
    SELECT j.id
    FROM inbox AS j
    WHERE j.id IN (
        SELECT j.id
        {team_inbox}
        UNION ALL
        SELECT j.id
        {alone_inbox}
      )
      AND (j.urgent, j.id) < (?3, ?4)
    ORDER BY j.urgent DESC, j.id DESC
    LIMIT ?5
  )
ORDER BY i.urgent DESC, i.id DESC;

-- name: INBOX_LIST_HEAD :many
SELECT i.id, i.student_id, i.kind, i.head, {inbox_columns}, {last_still}, {open_fault}
FROM inbox AS i
{join_inbox}
WHERE i.id IN (
    SELECT j.id
    {head_inbox}
      AND (j.head, j.id) < (?3, ?4)
    ORDER BY j.head DESC, j.id DESC
    LIMIT ?5
  )
ORDER BY i.head DESC, i.id DESC;

-- name: INBOX_COUNT :one
SELECT (SELECT count(*) {team_inbox}) + (SELECT count(*) {alone_inbox});

-- name: INBOX_COUNT_HEAD :one
SELECT count(*)
{head_inbox};

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
