/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/budget/budget_certificate.h - proofs that a lane can never fill. Private to this room. */
#pragma once

#include "model/budget/budget_figures.h"

/* Fills in ->certificate, of each lane; room for it must be there, empty. Net and rates must be
 * there. */
void budget_certify(struct budget *budget);
