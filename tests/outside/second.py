#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""The same workshops in another program: SimPy 2 (python3-simpy), as processes that wait.

Prints tick,arm,act,item,count for every pick and place of the workshop named on the command line,
as moves.csv has them. Written from docs/rules.md alone. Within a tick things happen at fractions of
it: belts step at -0.5, demands take at -0.4, batches end at -0.3, arms act at 0.01, 0.02 ... in the
order in which they are declared, stations start at +0.3. Who is woken after its moment acts at that
of the next tick.
"""
import math
import sys

from SimPy.Simulation import Process, Simulation, hold, waituntil

MOVES = []


def moment(sim, part):
    """How long until the clock stands at `part` of a tick, before or after it."""
    return max(0, math.ceil(sim.now() - part - 0.001) + part - sim.now())


class Chest:
    def __init__(self, capacity=math.inf, **start):
        self.count = dict(start)
        self.capacity = capacity
        self.promised = 0

    def has(self, item):
        return self.count.get(item, 0) > 0

    def accepts(self, item):
        return sum(self.count.values()) + self.promised < self.capacity

    def promise(self, item):
        self.promised += 1

    def put(self, item):
        self.promised -= 1
        self.count[item] = self.count.get(item, 0) + 1
        return True

    def get(self, item):
        self.count[item] -= 1


class Belt(Process):
    """A ring of cells that steps every so many ticks."""

    def __init__(self, sim, cells, step):
        Process.__init__(self, sim=sim)
        self.cell, self.step = [None] * cells, step

    def run(self):
        yield hold, self, self.step - 0.5
        while True:
            self.cell.insert(0, self.cell.pop())
            yield hold, self, self.step


class At:
    """A cell of a belt, as a place for arms."""

    def __init__(self, belt, cell):
        self.belt, self.cell = belt, cell

    def has(self, item):
        return self.belt.cell[self.cell] == item

    def accepts(self, item):
        return True

    def promise(self, item):
        pass

    def put(self, item):
        if self.belt.cell[self.cell] is not None:
            return False
        self.belt.cell[self.cell] = item
        return True

    def get(self, item):
        self.belt.cell[self.cell] = None


class Station(Process):
    def __init__(self, sim, takes, makes, time, ahead, room):
        Process.__init__(self, sim=sim)
        self.takes, self.makes, self.time = takes, makes, time
        self.ahead, self.room = ahead, room
        self.stock = dict.fromkeys(takes, 0)
        self.promised = dict.fromkeys(takes, 0)
        self.output = 0

    def has(self, item):
        return self.output > 0

    def get(self, item):
        self.output -= 1

    def accepts(self, item):
        if item not in self.takes:
            return False
        return self.stock[item] + self.promised[item] < self.ahead * self.takes[item]

    def promise(self, item):
        self.promised[item] += 1

    def put(self, item):
        self.promised[item] -= 1
        self.stock[item] += 1
        return True

    def ready(self):
        return self.output < self.room and all(self.stock[i] >= n for i, n in self.takes.items())

    def run(self):
        while True:
            yield waituntil, self, self.ready
            yield hold, self, moment(self.sim, 0.3)
            if not self.ready():
                continue
            start = round(self.sim.now() - 0.3)
            for item, count in self.takes.items():
                self.stock[item] -= count
            yield hold, self, start + self.time - 0.3 - self.sim.now()
            self.output += 1
            # It may start again after the arms of this tick.
            yield hold, self, 0.6


class Alarm(Process):
    """Makes those look who wait for a time."""

    def run(self):
        yield hold, self, 0


class Arm(Process):
    """Whoever holds several holds one kind, and puts them into a chest together."""

    def __init__(self, sim, name, source, goal, items, swing, gate=lambda: True, hand=1, linger=0):
        Process.__init__(self, sim=sim)
        self.name, self.source, self.goal, self.items = name, source, goal, items
        self.out = (swing + 1) // 2
        self.back = swing - self.out
        self.gate = gate
        self.hand, self.linger = hand, linger
        self.part = 0  # its moment within a tick

    def choice(self):
        if not self.gate():
            return None
        for item in self.items:
            if self.source.has(item) and self.goal.accepts(item):
                return item
        return None

    def can_pick(self):
        return self.choice() is not None

    def can_place(self):
        return not isinstance(self.goal, At) or self.goal.belt.cell[self.goal.cell] is None

    def until(self, condition):
        """Waits for a condition to hold at a moment of this arm."""
        while True:
            yield waituntil, self, condition
            yield hold, self, moment(self.sim, self.part)
            if condition():
                return

    def act(self, what, item, count):
        MOVES.append((int(self.sim.now()), self.name, what, item, count))

    def pick(self):
        item = self.choice()
        self.source.get(item)
        self.goal.promise(item)
        self.act("pick", item, 1)
        return item

    def fill_hand(self):
        """Picks one thing, then, over a belt, more until the hand is full or it has lingered."""
        yield from self.until(self.can_pick)
        held = [self.pick()]
        end = int(self.sim.now()) + self.linger
        while len(held) < self.hand and self.sim.now() < end:
            alarm = Alarm(sim=self.sim)
            self.sim.activate(alarm, alarm.run(), at=end)
            yield from self.until(lambda: self.can_pick() or self.sim.now() >= end)
            if self.can_pick():
                held.append(self.pick())
        return held

    def run(self):
        while True:
            held = yield from self.fill_hand()
            yield hold, self, self.out
            yield from self.until(self.can_place)
            for item in held:
                self.goal.put(item)
            self.act("place", held[0], len(held))
            yield hold, self, self.back


class Demand(Process):
    """Takes one every so often; what is not there is lost."""

    def __init__(self, sim, chest, item, every):
        Process.__init__(self, sim=sim)
        self.chest, self.item, self.every = chest, item, every

    def run(self):
        yield hold, self, self.every - 0.4
        while True:
            if self.chest.has(self.item):
                self.chest.get(self.item)
            yield hold, self, self.every


def row_of_benches(sim):
    """tests/outside/second-benches.yaml"""
    blanks, tray, shelf = Chest(blank=60), Chest(capacity=2), Chest()
    press = Station(sim, {"blank": 1}, "gear", 311, 2, 1)
    engraver = Station(sim, {"gear": 1}, "plate", 437, 1, 1)
    return [press, engraver,
            Arm(sim, "loader", blanks, press, ["blank"], 73),
            Arm(sim, "mover", press, tray, ["gear"], 91),
            Arm(sim, "passer", tray, engraver, ["gear"], 117),
            Arm(sim, "shelver", engraver, shelf, ["plate"], 59)]


def ring_with_slow_taker(sim):
    """tests/outside/second-ring.yaml"""
    belt = Belt(sim, 24, 20)
    pins, shelf = Chest(pin=1000), Chest()
    return [belt,
            Arm(sim, "taker", At(belt, 10), shelf, ["pin"], 363, hand=2, linger=117),
            Arm(sim, "feeder", pins, At(belt, 0), ["pin"], 131)]


def gated_bench(sim):
    """tests/outside/second-gates.yaml"""
    belt = Belt(sim, 30, 25)
    combs, cylinders, shelf = Chest(comb=1000), Chest(cylinder=1000), Chest()
    bench = Station(sim, {"comb": 1, "cylinder": 2}, "movement", 407, 2, 2)
    few = lambda: shelf.count.get("movement", 0) < 3
    return [belt, bench,
            Arm(sim, "comb-feeder", combs, At(belt, 3), ["comb"], 439, few),
            Arm(sim, "cylinder-feeder", cylinders, At(belt, 7), ["cylinder"], 217, few),
            Arm(sim, "taker", At(belt, 20), bench, ["comb", "cylinder"], 83),
            Arm(sim, "shelver", bench, shelf, ["movement"], 101),
            Demand(sim, shelf, "movement", 1213)]


def main():
    workshops = {"benches": row_of_benches, "ring": ring_with_slow_taker, "gates": gated_bench}
    sim = Simulation()
    sim.initialize()
    arms = 0
    for part in workshops[sys.argv[1]](sim):
        if isinstance(part, Arm):
            arms += 1
            part.part = arms / 100
        sim.activate(part, part.run(), at=0)
    sim.simulate(until=int(sys.argv[2]) + 0.2)
    for move in MOVES:
        print("%d,%s,%s,%s,%d" % move)


main()
