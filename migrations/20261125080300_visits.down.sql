drop table planned_dose, visit;
