// Der Schreibtisch: die wichtigsten Wörter; der Rest steht auf Englisch da.
export default {
  "desk.title": "Schreibtisch",
  "desk.students": "Schüler",
  "desk.accounts": "Konten",
  "desk.devices": "Tablets",
  "desk.drills": "Übungen",
  "desk.standard": "Hausmaß",
  "desk.audit": "Wer hat was getan",
  "desk.search": "Name",
  "desk.coach": "Lehrer",
  "desk.fault": "Aufgabe",
  "desk.test": "Wer braucht Aufmerksamkeit",
  "desk.all": "alle",
  "desk.count": { one: "{n} von {of} Schülern", other: "{n} von {of} Schülern" },
};
