// SPDX-License-Identifier: GPL-3.0-or-later
// The chart library, which checks its own types.
declare const uPlot: any;
