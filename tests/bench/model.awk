# The simplified ring of the anchors: a shank by Pappus, a round halo by equal chords, a step price
# for its melee, overhead, markup, cents, tax. Reads what `variants` reads, writes twelve columns.
BEGIN {
    FS = OFS = ","
    pi = atan2(0, -1)
    rate["750 yellow"] = 98.663616; density["750 yellow"] = 15.5
    rate["platinum 950"] = 47.833024; density["platinum 950"] = 20.7
    rate["585 rose"] = 76.81; density["585 rose"] = 13.2
    for (i = 0; i < 30; i++) step[i] = sprintf("%.2f", 6.5 + i * 0.35) + 0
}
function cents(value) { return int(value * 100 + 0.5) / 100 }
function asin(x) { return atan2(x, sqrt(1 - x * x)) }
NR == 1 { print "variant,status,metal g,stones,stones ct,minutes,cost,net,tax,total,margin,message"; next }
{
    r = (11.6332 + 0.8128 * $2) / 2
    volume = 2 * pi * (r * pi * $4 * $5 / 4 + $4 * $5 * $5 / 3)
    grams = volume * density[$3] / 1000
    stones = int(pi / asin((1.3 + $6) / (6.5 + 2 * 0.2 + 1.3)))
    carats = stones * 0.0081
    melee = stones * step[int($6 * 100) % 30]
    minutes = 45 + 6 * stones
    labour = minutes * 1.133333
    cost = cents(grams * rate[$3]) + cents(melee) + cents(labour)
    cost = cost + cents(cost * 0.18)
    net = cents(cost * 2.2)
    tax = cents(net * 0.0825)
    printf "%s,priced,%.4f,%d,%.4f,%.1f,%.2f,%.2f,%.2f,%.2f,%.2f,\n",
        $1, grams, stones, carats, minutes, cost, net, tax, net + tax, (net - cost) / net * 100
}
