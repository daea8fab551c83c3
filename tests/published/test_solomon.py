"""Rounds with time windows against Solomon's instances: the first 25 customers of C101 and R101.

M. M. Solomon, Algorithms for the vehicle routing and scheduling problems with time window constraints, Operations
Research 35 (1987), 254. Distances are cut off after one decimal, as in the literature on exact solutions: N. Kohl et
al., 2-path cuts for the vehicle routing problem with time windows, Transportation Science 33 (1999), 101, whose
optimal values 191.3 and 617.1 are from memory. With distances in full C101 would be 191.8.
"""

import math

import pytest

from maintenance.hands.optimise import Stop, Walker, rounds

# x, y, demand, ready, due, service; the depot first.
C101 = """
40 50 0 0 1236 0; 45 68 10 912 967 90; 45 70 30 825 870 90; 42 66 10 65 146 90; 42 68 10 727 782 90;
42 65 10 15 67 90; 40 69 20 621 702 90; 40 66 20 170 225 90; 38 68 20 255 324 90; 38 70 10 534 605 90;
35 66 10 357 410 90; 35 69 10 448 505 90; 25 85 20 652 721 90; 22 75 30 30 92 90; 22 85 10 567 620 90;
20 80 40 384 429 90; 20 85 40 475 528 90; 18 75 20 99 148 90; 15 75 20 179 254 90; 15 80 10 278 345 90;
30 50 10 10 73 90; 30 52 20 914 965 90; 28 52 20 812 883 90; 28 55 10 732 777 90; 25 50 10 65 144 90;
25 52 40 169 224 90
"""
R101 = """
35 35 0 0 230 0; 41 49 10 161 171 10; 35 17 7 50 60 10; 55 45 13 116 126 10; 55 20 19 149 159 10;
15 30 26 34 44 10; 25 30 3 99 109 10; 20 50 5 81 91 10; 10 43 9 95 105 10; 55 60 16 97 107 10;
30 60 16 124 134 10; 20 65 12 67 77 10; 50 35 19 63 73 10; 30 25 23 159 169 10; 15 10 20 32 42 10;
30 5 8 61 71 10; 10 20 19 75 85 10; 5 30 2 157 167 10; 20 40 12 87 97 10; 15 60 17 76 86 10;
45 65 9 126 136 10; 45 20 11 62 72 10; 45 10 18 97 107 10; 55 5 29 68 78 10; 65 35 3 153 163 10;
65 20 6 172 182 10
"""
TENTHS = 10
CAPACITY = 200


def cut_off(start, end):
    return int(math.dist(start, end) * TENTHS)


def solved(text):
    depot, *rows = [tuple(map(int, row.split())) for row in text.strip().split(";")]
    stops = [
        Stop(place=(x, y), service=service * TENTHS, opens=ready * TENTHS, closes=due * TENTHS, demand=demand)
        for x, y, demand, ready, due, service in rows
    ]
    truck = Walker(place=depot[:2], opens=0, closes=depot[4] * TENTHS, capacity=CAPACITY, goes_back=True)
    return rounds(stops, [truck] * 25, distance=cut_off, durations=[cut_off] * 25, seconds=20)


@pytest.mark.parametrize(("text", "distance", "count"), [(C101, 1913, 3), (R101, 6171, 8)], ids=["C101", "R101"])
def test_the_first_25_customers_cost_what_is_known_to_be_least(text, distance, count):
    found = solved(text)

    assert found.distance == distance
    assert sum(bool(legs) for legs in found.legs) == count
    assert found.left_out == ()


def test_the_rounds_of_c101_are_the_known_ones():
    known = [(20, 24, 25, 23, 22, 21), (5, 3, 7, 8, 10, 11, 9, 6, 4, 2, 1), (13, 17, 18, 19, 15, 16, 14, 12)]

    found = solved(C101)

    assert sorted(tuple(leg.stop + 1 for leg in legs) for legs in found.legs if legs) == sorted(known)
