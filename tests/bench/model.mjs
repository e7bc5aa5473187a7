// The anchors' simplified ring (model.awk) as one statement of DuckDB, one thread.
//     node model.mjs MODULES TABLE ANSWER
import { createRequire } from "node:module";

const [modules, table, answer] = process.argv.slice(2);
const { DuckDBInstance } = createRequire(modules + "/")("@duckdb/node-api");
const database = await DuckDBInstance.create(":memory:", { threads: "1" });
const link = await database.connect();
const text = (value) => value.replaceAll("'", "''");
await link.run(`
COPY (
  WITH alloys(alloy, rate, density) AS (VALUES
    ('750 yellow', 98.663616::DOUBLE, 15.5::DOUBLE), ('platinum 950', 47.833024, 20.7), ('585 rose', 76.81, 13.2)),
  sizes AS (SELECT i, (4 + i) / 10::DOUBLE AS from_mm FROM range(1, 31) r(i)),
  steps AS (
    SELECT from_mm, round(0.0036905::DOUBLE * pow(from_mm + 0.05::DOUBLE, 3), 6) AS each,
      CASE WHEN i <= 3 THEN 1104 WHEN i <= 5 THEN 941 WHEN i <= 13 THEN 787 WHEN i <= 22 THEN 806 WHEN i <= 28 THEN 941
        ELSE 1104 END::DOUBLE AS price FROM sizes),
  ring AS (
    SELECT v.*, a.rate, s.each, s.price,
      2 * pi() * ((11.6332 + 0.8128 * size) / 2 * pi() * width * thick / 4 + width * thick * thick / 3)
        * a.density / 1000 AS grams,
      floor(pi() / asin((stone + 0.1::DOUBLE) / (6.5::DOUBLE + 2 * 0.2::DOUBLE + stone)))::INTEGER AS stones
    FROM read_csv('${text(table)}', header = true, columns = {'variant': 'VARCHAR', 'size': 'DOUBLE',
      'alloy': 'VARCHAR', 'width': 'DOUBLE', 'thick': 'DOUBLE', 'stone': 'DOUBLE'}) v JOIN alloys a USING (alloy)
      ASOF JOIN steps s ON v.stone >= s.from_mm),
  parts AS (
    SELECT *, 45 + 6 * stones AS minutes,
      floor(grams * rate * 100 + 0.5) / 100
        + floor(stones * each * price * 100 + 0.5) / 100
        + floor((45 + 6 * stones) * 1.133333::DOUBLE * 100 + 0.5) / 100 AS bare FROM ring),
  costs AS (SELECT *, bare + floor(bare * 0.18::DOUBLE * 100 + 0.5) / 100 AS cost FROM parts),
  nets AS (SELECT *, floor(cost * 2.2::DOUBLE * 100 + 0.5) / 100 AS net FROM costs),
  taxes AS (SELECT *, floor(net * 0.0825::DOUBLE * 100 + 0.5) / 100 AS tax FROM nets)
  SELECT variant, 'priced' AS status, round(grams, 4) AS grams, stones, round(stones * each, 4) AS carats,
    minutes, round(cost, 2) AS cost, round(net, 2) AS net, round(tax, 2) AS tax, round(net + tax, 2) AS total,
    round((net - cost) / net * 100, 2) AS margin, '' AS message, stone AS "stone mm"
  FROM taxes) TO '${text(answer)}' (HEADER)`);
