/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/design/base_stock.c - a logarithm, rounded up. */
#include "model/design/base_stock.h"

#include <math.h>

#include "model/design/design_need.h"

enum { BASE_STOCK_MOST = 60 }; /* orders */

int64_t base_stock_least(double utilisation, double met) {
    return base_stock_varied(utilisation, met, 1);
}

int64_t base_stock_varied(double utilisation, double met, double variation) {
    if (utilisation <= 0 || met <= 0 || variation <= 0)
        return 1;
    if (utilisation >= 1 || met >= 1)
        return BASE_STOCK_MOST;
    double least = ceil(variation * log(1 - met) / log(utilisation) - DESIGN_HAIR);
    return least < 1 ? 1 : least > BASE_STOCK_MOST ? BASE_STOCK_MOST : (int64_t)least;
}
