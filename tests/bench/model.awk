# The simplified ring of the anchors, the same in each of them: a shank by Pappus; its weight and
# its alloy's rate; a round halo by equal chords; carats and price of its melee by the step of a
# price list of thirty that the stone's diameter lies in; labour, overhead of 18 %, markup of 2.2,
# cents at each step, tax of 8.25 %. Reads the six columns that `variants` reads, writes thirteen:
# those of `variants` and the stone's diameter.
BEGIN {
    FS = OFS = ","
    pi = atan2(0, -1)
    rate["750 yellow"] = 98.663616; density["750 yellow"] = 15.5
    rate["platinum 950"] = 47.833024; density["platinum 950"] = 20.7
    rate["585 rose"] = 76.81; density["585 rose"] = 13.2
    for (i = 1; i <= 30; i++) {
        from[i] = (4 + i) / 10
        middle = from[i] + 0.05
        each[i] = sprintf("%.6f", 0.0036905 * middle * middle * middle) + 0
        price[i] = i <= 3 ? 1104 : i <= 5 ? 941 : i <= 13 ? 787 : i <= 22 ? 806 : i <= 28 ? 941 : 1104
    }
}
function cents(value) { return int(value * 100 + 0.5) / 100 }
function asin(x) { return atan2(x, sqrt(1 - x * x)) }
NR == 1 { print "variant,status,metal g,stones,stones ct,minutes,cost,net,tax,total,margin,message,stone mm"; next }
{
    r = (11.6332 + 0.8128 * $2) / 2
    volume = 2 * pi * (r * pi * $4 * $5 / 4 + $4 * $5 * $5 / 3)
    grams = volume * density[$3] / 1000
    stones = int(pi / asin(($6 + 0.1) / (6.5 + 2 * 0.2 + $6)))
    for (step = 1; step < 30 && from[step + 1] <= $6; step++) { }
    carats = stones * each[step]
    minutes = 45 + 6 * stones
    cost = cents(grams * rate[$3]) + cents(carats * price[step]) + cents(minutes * 1.133333)
    cost = cost + cents(cost * 0.18)
    net = cents(cost * 2.2)
    tax = cents(net * 0.0825)
    printf "%s,priced,%.4f,%d,%.4f,%.1f,%.2f,%.2f,%.2f,%.2f,%.2f,,%s\n",
        $1, grams, stones, carats, minutes, cost, net, tax, net + tax, (net - cost) / net * 100, $6
}
