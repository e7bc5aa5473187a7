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
  ring AS (
    SELECT v.*, a.rate,
      2 * pi() * ((11.6332 + 0.8128 * size) / 2 * pi() * width * thick / 4 + width * thick * thick / 3)
        * a.density / 1000 AS grams,
      floor(pi() / asin((1.3 + space) / (6.5 + 2 * 0.2 + 1.3)))::INTEGER AS stones
    FROM read_csv('${text(table)}', header = true, columns = {'variant': 'VARCHAR', 'size': 'DOUBLE',
      'alloy': 'VARCHAR', 'width': 'DOUBLE', 'thick': 'DOUBLE', 'space': 'DOUBLE'}) v JOIN alloys a USING (alloy)),
  parts AS (
    SELECT *, 45 + 6 * stones AS minutes,
      floor(grams * rate * 100 + 0.5) / 100
        + floor(stones * (6.5 + (floor(space * 100)::INTEGER % 30) * 0.35::DOUBLE) * 100 + 0.5) / 100
        + floor((45 + 6 * stones) * 1.133333::DOUBLE * 100 + 0.5) / 100 AS bare FROM ring),
  costs AS (SELECT *, bare + floor(bare * 0.18::DOUBLE * 100 + 0.5) / 100 AS cost FROM parts),
  nets AS (SELECT *, floor(cost * 2.2::DOUBLE * 100 + 0.5) / 100 AS net FROM costs),
  taxes AS (SELECT *, floor(net * 0.0825::DOUBLE * 100 + 0.5) / 100 AS tax FROM nets)
  SELECT variant, 'priced' AS status, round(grams, 4) AS grams, stones, round(stones * 0.0081::DOUBLE, 4) AS carats,
    minutes, round(cost, 2) AS cost, round(net, 2) AS net, round(tax, 2) AS tax, round(net + tax, 2) AS total,
    round((net - cost) / net * 100, 2) AS margin, '' AS message
  FROM taxes) TO '${text(answer)}' (HEADER)`);
