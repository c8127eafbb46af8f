// The parts of the body that a drill may load and that may hurt: names of the interface, said as "area.…".

export const AREAS = ["neck", "shoulder", "elbow", "wrist", "upper back", "low back", "hip", "knee", "ankle"];
