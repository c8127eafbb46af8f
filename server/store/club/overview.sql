-- Figures over the whole club, for the head professional alone.

-- name: OVERVIEW_COACHES :many
-- what is counted of students is kept by triggers; ?1 = the beginning of a week
SELECT a.id, a.name, a.disabled, t.students, t.without_fix,
  (SELECT sum(ticks) FROM coach_week WHERE account_id = a.id AND week >= ?1),
  (SELECT max(last_seen) FROM session WHERE account_id = a.id)
FROM account AS a
LEFT JOIN coach_tally AS t ON t.account_id = a.id
WHERE a.role IN ('head', 'coach')
ORDER BY a.role, a.id
LIMIT ?2;

-- name: OVERVIEW_STUDENTS :many
SELECT s.id, s.name,
  (SELECT count(*) FROM team WHERE student_id = s.id),
  (SELECT count(*) FROM fix WHERE student_id = s.id AND status = 'open'),
  (SELECT min(opened_at) FROM fix WHERE student_id = s.id AND status = 'open' AND waits = 0),
  (
    SELECT w.received_at
    FROM swing AS w
    WHERE w.student_id = s.id
      AND NOT EXISTS (SELECT 1 FROM swing_edit AS v WHERE v.swing_id = w.id AND v.void_at IS NOT NULL)
    ORDER BY w.id DESC
    LIMIT 1
  ),
  (SELECT held_at FROM lesson WHERE student_id = s.id ORDER BY id DESC LIMIT 1),
  (
    SELECT max(d.done_at)
    FROM homework AS h
    CROSS JOIN homework_done AS d ON d.homework_id = h.id
    WHERE h.student_id = s.id
      AND d.is_session
  ),
  (
    SELECT min(h.retest_at)
    FROM homework AS h
    CROSS JOIN fix AS f ON f.id = h.fix_id
    WHERE h.student_id = s.id
      AND h.ended IS NULL
      AND f.status = 'open'
      AND f.waits = 0
  ),
  (SELECT group_concat(account_id) FROM team WHERE student_id = s.id),
  (SELECT group_concat(fault) FROM fix WHERE student_id = s.id AND status = 'open' AND waits = 0),
  s.adult_from,
  (SELECT count(*) FROM fix WHERE student_id = s.id AND status = 'open' AND waits = 1),
  (
    SELECT count(*)
    FROM homework AS h
    CROSS JOIN fix AS f ON f.id = h.fix_id
    WHERE h.student_id = s.id
      AND h.ended IS NULL
      AND h.paused_at IS NOT NULL
      AND f.status = 'open'
      AND f.waits = 0
  ),
  s.pain, s.member_number
FROM student AS s
WHERE s.id > ?1
  AND s.archived IS NULL
ORDER BY s.id
LIMIT ?2;
