-- What happened in the club in a time, counted.

-- name: FIGURES_OF :many
-- whole: figures of a time look at all of it, swings and ticks by their ids, which rise with time
-- ?3: 0 by month, 1 by coach, 2 in all. ?4, ?5: the least ids of from and of an hour after to.
WITH happened (what, who, at, student_id, fault) AS (
  SELECT 'lessons', l.coach, l.held_at, l.student_id, NULL
  FROM lesson AS l
  WHERE l.held_at >= ?1
    AND l.held_at < ?2
    AND {lesson_counts}
  UNION ALL
  SELECT 'swings', s.uploaded_by, s.received_at, s.student_id, NULL
  FROM swing AS s
  WHERE s.id >= ?4
    AND s.id < ?5
    AND s.received_at >= ?1
    AND s.received_at < ?2
    AND {swing_counts}
  UNION ALL
  SELECT 'fixes_opened', opened_by, opened_at, student_id, fault
  FROM fix
  WHERE opened_at >= ?1
    AND opened_at < ?2
  UNION ALL
  SELECT 'fixes_ended', opened_by, ended_at, student_id, NULL
  FROM fix
  WHERE ended_at >= ?1
    AND ended_at < ?2
  UNION ALL
  SELECT 'sessions_done', h.assigned_by, d.done_at, h.student_id, NULL
  FROM homework_done AS d
  CROSS JOIN homework AS h ON h.id = d.homework_id
  WHERE d.id >= ?4
    AND d.is_session
    AND d.done_at >= ?1
    AND d.done_at < ?2
),
keyed (key, what, student_id, fault) AS (
  SELECT CASE ?3
      WHEN 0 THEN strftime('%Y-%m', at / 1000, 'unixepoch')
      WHEN 1 THEN who
      ELSE ''
    END, what, student_id, fault
  FROM happened
)
SELECT key, what, fault, count(*)
FROM keyed
GROUP BY key, what, fault
UNION ALL
SELECT key, 'students', NULL, count(DISTINCT student_id)
FROM keyed
WHERE what IN ('lessons', 'swings')
GROUP BY key
ORDER BY key, what, fault;
