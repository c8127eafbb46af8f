-- A large club out of the demo's: what `bench_fill` runs. "once" runs first, "part" for swings :from..:to (ids in order of
-- time, as the program gives them), "last" at the end. Numbers come from the table temp.want (students, swings, coaches).
-- once
CREATE TEMP TABLE template AS
  SELECT row_number() OVER (ORDER BY swing.id) - 1 AS k, swing.id AS swing, report.number AS report FROM swing
  JOIN report ON report.swing_id = swing.id;
CREATE TEMP TABLE number (n INTEGER PRIMARY KEY);
INSERT INTO number WITH RECURSIVE up(n) AS (SELECT 0 UNION ALL SELECT n + 1 FROM up WHERE n < 999999) SELECT n FROM up
  WHERE n < (SELECT max(students, coaches) FROM want);
INSERT INTO account (id, role, name, sign_in, sign_in_key, password_hash, created)
  SELECT printf('00000001-0000-7000-8000-%012x', n), 'coach', printf('Coach %d', n), printf('filled-coach-%d', n),
    printf('filled-coach-%d', n), (SELECT password_hash FROM account WHERE role = 'coach' AND password_hash IS NOT NULL LIMIT 1),
    1600000000000 FROM number WHERE n < (SELECT coaches FROM want);
INSERT INTO student (id, name, hand, birth_date, created, updated_at)
  SELECT printf('00000002-0000-7000-8000-%012x', n),
    printf('%s%s %s%s %d', substr('BaCeDiFoGuHaJeKiLoMu', 1 + 2 * (n % 10), 2), substr('nalorimedutasovi', 1 + 2 * (n / 10 % 8), 2),
      substr('RaSeTiVoWaBrClDrFlGr', 1 + 2 * (n / 80 % 10), 2), substr('lenmorwicketdalf', 1 + 4 * (n / 800 % 4), 4), n),
    CASE n % 11 WHEN 0 THEN 'left' ELSE 'right' END, date('2026-01-01', printf('-%d days', 6900 + n * 7 % 20000)),
    1600000000000 + n * 1000, 1600000000000 + n * 1000 FROM number WHERE n < (SELECT students FROM want);
INSERT INTO team (account_id, student_id, created)
  SELECT printf('00000001-0000-7000-8000-%012x', n % coaches), printf('00000002-0000-7000-8000-%012x', n), 1600000000000
    FROM number, want WHERE n < students;
-- part
INSERT INTO lesson (id, student_id, coach, held_at, created)
  SELECT printf('%08x-%04x-7000-8001-%012x', (1600000000000 + n * 150000) >> 16, (1600000000000 + n * 150000) & 65535, n),
    printf('00000002-0000-7000-8000-%012x', n % students), printf('00000001-0000-7000-8000-%012x', n % students % coaches),
    1600000000000 + n * 150000, 1600000000000 + n * 150000 FROM part, want WHERE n % 3 = 0;
INSERT INTO swing (id, student_id, lesson_id, uploaded_by, recorded_at, received_at, media_type, document_hash, document_size,
    document, size, packed)
  SELECT printf('%08x-%04x-7000-8000-%012x', (1600000000000 + n * 150000) >> 16, (1600000000000 + n * 150000) & 65535, n),
    printf('00000002-0000-7000-8000-%012x', n % students),
    CASE n % 3 WHEN 0 THEN printf('%08x-%04x-7000-8001-%012x', (1600000000000 + n * 150000) >> 16, (1600000000000 + n * 150000) & 65535, n) END,
    printf('00000001-0000-7000-8000-%012x', n % students % coaches), 1600000000000 + n * 150000, 1600000000000 + n * 150000,
    old.media_type, old.document_hash, old.document_size, old.document, old.size, old.packed
    FROM part, want JOIN template ON k = n % (SELECT count(*) FROM template) JOIN swing old ON old.id = template.swing;
INSERT INTO report (id, swing_id, standard, created, json, size, packed)
  SELECT printf('%08x-%04x-7000-8002-%012x', (1600000000000 + n * 150000) >> 16, (1600000000000 + n * 150000) & 65535, n),
    printf('%08x-%04x-7000-8000-%012x', (1600000000000 + n * 150000) >> 16, (1600000000000 + n * 150000) & 65535, n),
    old.standard, 1600000000000 + n * 150000, old.json, old.size, old.packed
    FROM part, want JOIN template ON k = n % (SELECT count(*) FROM template) JOIN report old ON old.number = template.report;
INSERT INTO report_measures (report, packed)
  SELECT new.number, old.packed
    FROM part JOIN template ON k = n % (SELECT count(*) FROM template) JOIN report_measures old ON old.report = template.report
    JOIN report new ON new.id =
      printf('%08x-%04x-7000-8002-%012x', (1600000000000 + n * 150000) >> 16, (1600000000000 + n * 150000) & 65535, n);
-- last
INSERT INTO fix (id, student_id, fault, place, opened_by, opened_at, status, baseline_swing)
  SELECT printf('00000003-0000-7000-8000-%012x', n), printf('00000002-0000-7000-8000-%012x', n),
    (SELECT fault FROM fix ORDER BY id LIMIT 1), 1, printf('00000001-0000-7000-8000-%012x', n % coaches), 1750000000000, 'open',
    (SELECT max(id) FROM swing WHERE student_id = printf('00000002-0000-7000-8000-%012x', n))
    FROM number, want WHERE n < students;
INSERT INTO fix_event (fix_id, at, account_id, status) SELECT id, opened_at, opened_by, 'open' FROM fix
  WHERE id LIKE '00000003-%';
INSERT INTO homework (id, fix_id, student_id, drill_id, sessions_per_week, minutes, self_check_every, retest_at, assigned_by, created)
  SELECT printf('00000004-0000-7000-8000-%012x', n), printf('00000003-0000-7000-8000-%012x', n),
    printf('00000002-0000-7000-8000-%012x', n), (SELECT drill_id FROM homework ORDER BY id LIMIT 1), 3, 10, 10,
    unixepoch('now') * 1000 + (n % 61 - 30) * 86400000, printf('00000001-0000-7000-8000-%012x', n % coaches), 1750000000000
    FROM number, want WHERE n < students;
INSERT INTO homework_done (id, homework_id, done_at, comment)
  SELECT printf('00000005-0000-7000-8%03x-%012x', ticks.n, number.n), printf('00000004-0000-7000-8000-%012x', number.n),
    unixepoch('now') * 1000 - ticks.n * 86400000, CASE WHEN number.n % 10 = 0 AND ticks.n = 1 THEN 'it went well' END
    FROM number, want, (SELECT n FROM number WHERE n BETWEEN 1 AND 6) AS ticks WHERE number.n < students;
INSERT INTO inbox (id, student_id, kind, done_id, urgent, head, created)
  SELECT printf('00000006-0000-7000-8000-%012x', n), printf('00000002-0000-7000-8000-%012x', n), 'comment',
    printf('00000005-0000-7000-8001-%012x', n), 0, 0, unixepoch('now') * 1000 - 86400000 FROM number, want
    WHERE n < students AND n % 10 = 0;
INSERT INTO audit (id, at, action, object_kind, object_id, student_id)
  SELECT '00000007' || substr(id, 9), created, 'account.create', 'account', id, NULL FROM account WHERE id LIKE '00000001-%'
  UNION ALL SELECT '00000008' || substr(id, 9), created, 'student.create', 'student', id, id FROM student WHERE id LIKE '00000002-%'
  UNION ALL SELECT '00000009' || substr(id, 9), opened_at, 'fix.open', 'fix', id, student_id FROM fix WHERE id LIKE '00000003-%';
