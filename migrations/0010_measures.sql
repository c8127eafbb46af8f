-- What progress needs of a report, picked out of its JSON once: packed by the program, which makes a row anew when its
-- own catalogue of measures has changed. Written with the report; for older reports when they are first asked for.
CREATE TABLE report_measures (
  report INTEGER PRIMARY KEY REFERENCES report (number) ON DELETE CASCADE,
  packed BLOB NOT NULL
) STRICT;
