-- The database of an index of reports, version 1. It is worked out from the records and can be deleted at any time.
-- Numbers are those that the reports print; a time is as the file of readings states it. Columns are added, never
-- removed or given another meaning, without a new version.

CREATE TABLE meta (
  version INTEGER NOT NULL,  -- of this schema
  program TEXT NOT NULL
);

-- One unit of one report, or one design that a report reviews; a report without any is one row.
CREATE TABLE unit_report (
  id       INTEGER PRIMARY KEY,
  report   TEXT NOT NULL,    -- path of the PDF below the folder
  number   TEXT NOT NULL,
  digest   TEXT NOT NULL,    -- SHA-256 of the record
  title    TEXT NOT NULL,
  part     TEXT NOT NULL,
  program  TEXT NOT NULL,    -- that made the report
  issued   TEXT NOT NULL,
  unit     TEXT NOT NULL,
  lot      TEXT NOT NULL,
  bench    TEXT NOT NULL,
  measured TEXT NOT NULL,
  input    TEXT NOT NULL,    -- name of the file of readings
  state    TEXT NOT NULL,    -- current or superseded
  verdict  TEXT NOT NULL,    -- the worst of its verdicts: pass, fail, undecided; '' for none
  causes   TEXT NOT NULL,    -- parameters out of tolerance, parted by '; '
  retested INTEGER NOT NULL, -- 1: a later test of the unit in the same report counts instead
  design   TEXT NOT NULL,    -- of a row about a design that was reviewed, its name; '' for one about a unit
  condition TEXT NOT NULL    -- before, during or after a test of a qualification; '' where the file states none
);

-- A figure of a unit or of a design compared with a limit, or a fitted parameter.
CREATE TABLE value (
  unit_report INTEGER NOT NULL REFERENCES unit_report(id),
  kind        TEXT NOT NULL, -- limit, parameter or design
  name        TEXT NOT NULL,
  condition   TEXT NOT NULL, -- band and temperatures
  rule        TEXT NOT NULL, -- at least or at most; '' for a parameter
  limit_value REAL,          -- of a parameter the value specified
  tolerance   REAL,
  value       REAL,
  margin      REAL,          -- positive within the limit
  uncertainty REAL,          -- expanded
  unit_name   TEXT NOT NULL, -- dB, deg
  outcome     TEXT NOT NULL,
  is_bound    INTEGER NOT NULL -- 1: the readings prove at least this much and no more
);

CREATE INDEX unit_report_lot ON unit_report(lot, unit);
CREATE INDEX unit_report_failing ON unit_report(lot, unit)
  WHERE state = 'current' AND retested = 0 AND design = '' AND verdict NOT IN ('pass', '');
CREATE INDEX value_of ON value(unit_report);
CREATE INDEX value_name ON value(name, condition, margin);

-- What counts: the current report of each unit, without tests that a later one replaces.
CREATE VIEW current AS SELECT * FROM unit_report WHERE state = 'current' AND retested = 0 AND design = '';

CREATE VIEW failing AS SELECT * FROM unit_report
  WHERE state = 'current' AND retested = 0 AND design = '' AND verdict NOT IN ('pass', '');

-- Units, failures and yield lot by lot and condition by condition (units before and after a test are not one
-- population), of the rows in current that have a verdict. A table, filled when the database is made: it is asked for
-- often.
CREATE TABLE lot_yield (
  lot   TEXT NOT NULL,
  units INTEGER NOT NULL,
  pass  INTEGER NOT NULL,
  fail  INTEGER NOT NULL,
  yield REAL NOT NULL,
  test_condition TEXT NOT NULL, -- condition of the unit_report
  PRIMARY KEY (lot, test_condition)
);

-- Each characteristic lot by lot and condition by condition; figures that are only bounds are left out.
CREATE VIEW lot_value AS
  SELECT c.lot, v.kind, v.name, v.condition, v.unit_name, count(v.value) AS units, avg(v.value) AS mean,
         min(v.value) AS least, max(v.value) AS greatest, min(v.margin) AS least_margin,
         c.condition AS test_condition
  FROM current c JOIN value v ON v.unit_report = c.id
  WHERE v.is_bound = 0 GROUP BY c.lot, c.condition, v.kind, v.name, v.condition, v.unit_name;
