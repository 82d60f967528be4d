% SPDX-License-Identifier: GPL-3.0-or-later
% Closed networks by octave-queueing: jobs a second of N jobs at servers of the times S
% (exponential, m servers each) and a ride of Z. One line a network: N and the rate.
pkg load queueing
function rate(N, S, m, Z)
  [U, R, Q, X] = qncsmva(N, S, ones(size(S)), m, Z);
  printf("%d %.12g\n", N, X(1));
end
rate(3, [1], [1], 10)
rate(8, [1], [1], 10)
rate(13, [1], [1], 10)
rate(6, [1 0.8], [1 1], 6)
rate(10, [1 0.8], [1 1], 6)
rate(7, [2 1.5 0.7], [2 1 1], 5)
