package monitor

// Caution stands wherever forage supply, utilization or classes are shown.
const Caution = "Caution: these figures are estimates from samples, and book values vary by site and year. Stocking and use decisions follow local rules and the advice of a qualified range professional; nothing here replaces either."
