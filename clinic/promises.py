"""The promises of care, each as a statement that returns the rows which break it.

The SQL is the audit's own: it reads raw tables and nothing that the actions, the triggers or the models compute.
"""

# ruff: noqa: S608  the statements are put together from constants of this module alone

# A stay makes the night of a day: half-open, and in and out on one day counts as one.
MAKES_NIGHT = """(s.admitted_on <= {on} AND (s.discharged_on IS NULL OR {on} < s.discharged_on
    OR {on} = s.admitted_on AND s.discharged_on = s.admitted_on))"""
SIGNED_ROWS = """(SELECT w."on" AS day, r.animal_id AS animal, r.signing_id AS signing
    FROM clinic_sheetrow r JOIN clinic_wardsheet w ON w.id = r.sheet_id)"""
SIGNED_FACTS = """(SELECT c.service_id AS service, c."on" AS day, g.at FROM clinic_careitem c
    JOIN clinic_signing g ON g.id = c.signing_id WHERE c.undone_at IS NULL
    UNION ALL SELECT l.service_id, b."on", g.at FROM clinic_boardingday b
    JOIN clinic_boardinglevel l ON l.id = b.level_id JOIN clinic_signing g ON g.id = b.signing_id)"""

# (sentence with a place for each column, statement that returns the rows that break the promise)
PROMISES: tuple[tuple[str, str], ...] = (
    (
        "Two stays of animal {} overlap: one began on {}, the other on {}.",
        "SELECT a.animal_id, a.admitted_on, b.admitted_on FROM clinic_stay a"
        " JOIN clinic_stay b ON a.animal_id = b.animal_id AND a.id < b.id"
        " WHERE a.admitted_on < COALESCE(b.discharged_on, '9999-12-31')"
        " AND b.admitted_on < COALESCE(a.discharged_on, '9999-12-31')",
    ),
    (
        "The stay of animal {} from {} ends before it begins, on {}.",
        "SELECT animal_id, admitted_on, discharged_on FROM clinic_stay WHERE discharged_on < admitted_on",
    ),
    (
        "Animal {} has {} boarding days on {}.",
        'SELECT animal_id, count(*), "on" FROM clinic_boardingday GROUP BY animal_id, "on" HAVING count(*) > 1',
    ),
    (
        "The boarding day of animal {} on {} lies outside its stay.",
        f"""SELECT b.animal_id, b."on" FROM clinic_boardingday b LEFT JOIN clinic_stay s ON s.id = b.stay_id
            AND s.animal_id = b.animal_id AND NOT s.is_history AND {MAKES_NIGHT.format(on='b."on"')}
            WHERE s.id IS NULL""",
    ),
    (
        "Animal {} was boarded on {} and its row is signed off, but that night is not among the boarding days.",
        f"""SELECT r.animal, r.day FROM {SIGNED_ROWS} r JOIN clinic_stay s ON s.animal_id = r.animal
            AND NOT s.is_history AND {MAKES_NIGHT.format(on="r.day")}
            LEFT JOIN clinic_boardingday b ON b.animal_id = r.animal AND b."on" = r.day WHERE b.id IS NULL""",
    ),
    (
        "The boarding day of animal {} on {} is signed off, but its row is not.",
        f"""SELECT b.animal_id, b."on" FROM clinic_boardingday b
            LEFT JOIN {SIGNED_ROWS} r ON r.animal = b.animal_id AND r.day = b."on" WHERE r.animal IS NULL""",
    ),
    (
        "The row of animal {} on {} is signed off, but its fact {} is not sealed.",
        f"""SELECT c.animal_id, c."on", c.id FROM clinic_careitem c
            JOIN {SIGNED_ROWS} r ON r.animal = c.animal_id AND r.day = c."on"
            WHERE c.signing_id IS NULL AND NOT c.late""",
    ),
    (
        "The fact {} of animal {} on {} is sealed, but its row is not signed off.",
        f"""SELECT c.id, c.animal_id, c."on" FROM clinic_careitem c
            LEFT JOIN {SIGNED_ROWS} r ON r.animal = c.animal_id AND r.day = c."on"
            WHERE c.signing_id IS NOT NULL AND r.animal IS NULL""",
    ),
    (
        "The {} {} of {} is sealed by a signature for {}.",
        f"""SELECT x.what, x.id, x.day, g."on" FROM (
            SELECT 'fact' AS what, id, "on" AS day, signing_id AS signing FROM clinic_careitem
            UNION ALL SELECT 'boarding day', id, "on", signing_id FROM clinic_boardingday
            UNION ALL SELECT 'row of animal', animal, day, signing FROM {SIGNED_ROWS} r) x
            JOIN clinic_signing g ON g.id = x.signing WHERE g."on" <> x.day""",
    ),
    (
        "The fact {} of animal {} was taken back after it was signed off.",
        "SELECT c.id, c.animal_id FROM clinic_careitem c JOIN clinic_signing g ON g.id = c.signing_id"
        " WHERE c.undone_at > g.at",
    ),
    (
        "The late entry {} of animal {} does not say where it comes from.",
        "SELECT id, animal_id FROM clinic_careitem WHERE late AND late_source = ''",
    ),
    (
        "The fact {} of animal {} counts {}.",
        "SELECT id, animal_id, quantity FROM clinic_careitem WHERE quantity <= 0 OR quantity > 1440",
    ),
    (
        "The price of service {} from {} was set after {} had been signed off.",
        f"""SELECT p.service_id, p.starts_on, max(f.day) FROM clinic_price p
            JOIN {SIGNED_FACTS} f ON f.service = p.service_id AND f.day >= p.starts_on AND f.at < p.set_at
            WHERE EXISTS (SELECT 1 FROM clinic_price first WHERE first.service_id = p.service_id AND first.id < p.id)
            GROUP BY p.service_id, p.starts_on""",
    ),
    (
        "The price of service {} from {} asks {} where the usual fee is {} and the cost {}.",
        "SELECT service_id, starts_on, asked, usual_fee, cost FROM clinic_price"
        " WHERE asked > usual_fee OR asked < 0 OR cost < 0",
    ),
    (
        "Of the {} that the fact {} took of its part {}, {} are said to be given free.",
        "SELECT quantity, care_item_id, id, free FROM clinic_itempart WHERE free < 0 OR free > quantity"
        " OR (grade_id IS NULL) = (supply_id IS NULL) OR (supply_id IS NOT NULL AND free <> 0)",
    ),
    ("There are {} houses.", "SELECT count(*) FROM clinic_house HAVING count(*) > 1"),
    (
        "The fact {} of animal {} has no line in the history that says it was written down.",
        "SELECT c.id, c.animal_id FROM clinic_careitem c LEFT JOIN clinic_change h ON h.what = 'care item'"
        " AND h.what_id = c.id AND h.animal_id = c.animal_id WHERE h.id IS NULL",
    ),
    (
        "The observation {} of animal {} has no line in the history that says it was written down.",
        "SELECT o.id, o.animal_id FROM clinic_observation o LEFT JOIN clinic_change h ON h.what = 'observation'"
        " AND h.what_id = o.id AND h.animal_id = o.animal_id WHERE h.id IS NULL",
    ),
    (
        "Of lot {} came {}; what is left, {}, and what moved, {}, do not add up to it.",
        """SELECT l.id, l.quantity_millionths, l.left_millionths, coalesce(sum(m.quantity_millionths), 0)
            FROM clinic_supplylot l LEFT JOIN clinic_stockmove m ON m.lot_id = l.id
            GROUP BY l.id, l.quantity_millionths, l.left_millionths
            HAVING l.quantity_millionths + coalesce(sum(m.quantity_millionths), 0) <> l.left_millionths""",
    ),
    (
        "Lot {} cost {}; what is left of its money, {}, and what moved, {}, do not add up to it.",
        """SELECT l.id, l.cost_minor, l.left_cost, coalesce(sum(m.cost), 0)
            FROM clinic_supplylot l LEFT JOIN clinic_stockmove m ON m.lot_id = l.id
            GROUP BY l.id, l.cost_minor, l.left_cost
            HAVING l.cost_minor * 1000000 + coalesce(sum(m.cost), 0) <> l.left_cost""",
    ),
    (
        "Of the money of lot {}, {} is kept as donated; what came and what moved make it {}.",
        """SELECT l.id, l.left_donated, (CASE l.source WHEN 'given' THEN l.cost_minor * 1000000 ELSE 0 END)
                + coalesce(sum(m.donated), 0)
            FROM clinic_supplylot l LEFT JOIN clinic_stockmove m ON m.lot_id = l.id
            GROUP BY l.id, l.left_donated, l.source, l.cost_minor
            HAVING l.left_donated <> (CASE l.source WHEN 'given' THEN l.cost_minor * 1000000 ELSE 0 END)
                + coalesce(sum(m.donated), 0)""",
    ),
    (
        "{} is left of lot {}, with {} of its money, of it {} donated.",
        "SELECT left_millionths, id, left_cost, left_donated FROM clinic_supplylot WHERE left_millionths < 0"
        " OR left_donated < 0 OR left_donated > left_cost OR (left_millionths = 0 AND left_cost <> 0)",
    ),
    (
        "Leveling the lots of supply {} made or lost {} of their money.",
        """SELECT l.supply_id, sum(m.cost) FROM clinic_stockmove m JOIN clinic_supplylot l ON l.id = m.lot_id
            WHERE m.kind = 'average' GROUP BY l.supply_id HAVING sum(m.cost) <> 0 OR sum(m.donated) <> 0""",
    ),
    (
        "What group {} got together, {} for {} animals, is not the sum of its parts.",
        """SELECT f.group_id, f.quantity, f.count FROM clinic_groupfact f
            LEFT JOIN clinic_careitem c ON c.group_fact_id = f.id GROUP BY f.id, f.group_id, f.quantity, f.count
            HAVING count(c.id) <> f.count OR max(c.group_part) <> f.count - 1
            OR sum(CAST(round(c.quantity * 1000) AS integer)) <> CAST(round(f.quantity * 1000) AS integer)""",
    ),
    (
        "The readings of wound {} of animal {} mix two methods.",
        """SELECT w.wound, o.animal_id FROM clinic_woundreading w JOIN clinic_observation o ON o.id = w.observation_id
            WHERE w.taken_back_at IS NULL GROUP BY w.wound, o.animal_id HAVING count(DISTINCT w.method) > 1""",
    ),
    (
        "What happened on path {} took care of another animal: item {}.",
        """SELECT e.path_id, c.id FROM clinic_pathevent e JOIN clinic_careitem c ON c.id = e.care_item_id
            JOIN clinic_treatmentpath p ON p.id = e.path_id WHERE p.animal_id <> c.animal_id OR c.path_key = ''""",
    ),
    (
        "Operation {} of path {} has a result although one before it healed.",
        """SELECT h.position, s.path_id FROM clinic_pathstep s JOIN clinic_pathstep h ON h.path_id = s.path_id
            AND h.part = 'operation' AND h.position > s.position
            WHERE s.part = 'operation' AND s.result = 'healed' AND h.result <> ''""",
    ),
    (
        "The move {} took from lot {} on {}, before it arrived on {}.",
        """SELECT m.id, l.id, m."on", l.arrived_on FROM clinic_stockmove m JOIN clinic_supplylot l ON l.id = m.lot_id
            WHERE m.kind = 'use' AND m."on" < l.arrived_on""",
    ),
    (
        "The move {} puts back another quantity or money than {} took, or into another lot.",
        """SELECT b.id, b.back_of_id FROM clinic_stockmove b LEFT JOIN clinic_stockmove m ON m.id = b.back_of_id
            AND m.kind = 'use' AND m.lot_id = b.lot_id AND m.quantity_millionths = -b.quantity_millionths
            AND m.cost = -b.cost AND m.donated = -b.donated WHERE b.kind = 'back' AND m.id IS NULL""",
    ),
    (
        "The count {} found {} where {} were expected, but {} was moved.",
        """SELECT c.id, c.found_millionths, c.expected_millionths, coalesce(sum(x.quantity), 0)
            FROM clinic_stockcount c LEFT JOIN (
                SELECT count_id, quantity_millionths AS quantity FROM clinic_stockmove WHERE kind = 'count'
                UNION ALL SELECT count_id, quantity_millionths FROM clinic_supplylot) x ON x.count_id = c.id
            GROUP BY c.id, c.found_millionths, c.expected_millionths
            HAVING coalesce(sum(x.quantity), 0) <> c.found_millionths - c.expected_millionths""",
    ),
)
