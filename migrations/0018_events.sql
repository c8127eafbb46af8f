-- Live events: what was written down, in the order in which it was committed, whatever the clock said. Whoever listens goes
-- on from the last number heard. Old ones are forgotten (store/club/event.sql), the newest never, so that no number comes twice.
CREATE TABLE event (
  number INTEGER PRIMARY KEY NOT NULL,
  audit_id TEXT NOT NULL
) STRICT;

-- Reading changes nothing that others could read again.
CREATE TRIGGER event_of_audit AFTER INSERT ON audit
WHEN NEW.action NOT IN ('student.read', 'student.list', 'student.export', 'session.confirm') BEGIN
  INSERT INTO event (audit_id) VALUES (NEW.id);
END;
