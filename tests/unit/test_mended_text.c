/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/unit/test_mended_text.c - a scenario is changed where it is written, and all else stays.
 * What is expected is the text as a person would change it. */
#include <check.h>
#include <stdlib.h>

#include "tests/common/suite.h"
#include "tools/cause/mended_text.h"

#define HEAD "items: [gear]\n"

/* A text, a change as --set takes it, and the text with it; NULL: it has to be written anew. */
static const struct {
    const char *text, *set, *mended;
} mend[] = {
    /* a line for each key */
    {HEAD "chests:\n- name: bin # first\n  capacity: 40 # in all\n- name: shelf\n",
     "chests.bin.capacity=60",
     HEAD "chests:\n- name: bin # first\n  capacity: 60 # in all\n- name: shelf\n"},
    {HEAD "chests:\n- name: bin # first\n\n# the other\n- name: shelf\n", "chests.bin.capacity=60",
     HEAD "chests:\n- name: bin # first\n  capacity: 60\n\n# the other\n- name: shelf\n"},
    {HEAD "chests:\n  - capacity: 40 # in all\n    name: bin\n", "chests.bin.capacity=7",
     HEAD "chests:\n  - capacity: 7 # in all\n    name: bin\n"},
    {HEAD "chests:\n- name: bin\n  capacity: 40 # in all\n# end\n", "chests.bin.capacity=null",
     HEAD "chests:\n- name: bin\n# end\n"},
    /* maps within parts, of both kinds */
    {HEAD "chests:\n- name: bin\n  limits: # of each\n    gear: 3 # teeth\n  capacity: 9\n",
     "chests.bin.limits.gear=4",
     HEAD "chests:\n- name: bin\n  limits: # of each\n    gear: 4 # teeth\n  capacity: 9\n"},
    {HEAD "chests:\n- name: bin\n  limits: {gear: 3} # teeth\n", "chests.bin.limits.gear=4",
     HEAD "chests:\n- name: bin\n  limits: {gear: 4} # teeth\n"},
    {HEAD "chests:\n- name: bin\n  limits:\n    gear: 3 # teeth\n  capacity: 9\n",
     "chests.bin.limits={gear: 5}",
     HEAD "chests:\n- name: bin\n  limits: {gear: 5}\n  capacity: 9\n"},
    {HEAD "chests:\n- name: bin\n  limits:\n    gear: 3 # teeth\n  capacity: 9\n",
     "chests.bin.limits=null", HEAD "chests:\n- name: bin\n  capacity: 9\n"},
    /* whole parts */
    {HEAD "chests:\n- name: bin\n  capacity: 40\n# between\n- name: shelf\n", "chests.bin=null",
     HEAD "chests:\n# between\n- name: shelf\n"},
    {HEAD "chests:\n- name: bin\n  capacity: 40\n# end\n", "chests.bin=null",
     HEAD "chests: []\n# end\n"},
    {HEAD "chests:\n   - name: bin\n     capacity: 40\n# end\n", "chests.shelf={capacity: 3}",
     HEAD "chests:\n   - name: bin\n     capacity: 40\n   - {name: shelf, capacity: 3}\n# end\n"},
    {HEAD "chests:\n- name: bin\n  limits: {gear: 1}", "chests.shelf={capacity: 3}",
     HEAD "chests:\n- name: bin\n  limits: {gear: 1}\n- {name: shelf, capacity: 3}\n"},
    /* flow maps, over one line and several, beside the others */
    {HEAD "chests:\n- {name: bin, # first\n   limits: {gear: 1}} # last\n- name: shelf\n",
     "chests.bin.limits.gear=2",
     HEAD "chests:\n- {name: bin, # first\n   limits: {gear: 2}} # last\n- name: shelf\n"},
    {HEAD "chests:\n- name: shelf\n- {name: bin,\n capacity: 4} # last\n# end\n",
     "chests.tray={capacity: 3}",
     HEAD "chests:\n- name: shelf\n- {name: bin,\n capacity: 4} # last\n"
          "- {name: tray, capacity: 3}\n# end\n"},
    {HEAD "chests: [{name: bin}, {name: shelf}] # both\n", "chests.tray={capacity: 3}",
     HEAD "chests: [{name: bin}, {name: shelf}, {name: tray, capacity: 3}] # both\n"},
    /* the first key of a part stands after its dash */
    {HEAD "chests:\n- capacity: 40\n  name: bin\n", "chests.bin.capacity=null", NULL},
};

START_TEST(a_change_is_made_where_it_belongs) {
    char *mended = mended_text(mend[_i].text, &mend[_i].set, 1);
    if (mend[_i].mended == NULL)
        ck_assert_ptr_null(mended);
    else
        ck_assert_pstr_eq(mended, mend[_i].mended);
    free(mended);
}
END_TEST

static void add_tests(struct TCase *tests) {
    tcase_add_loop_test(tests, a_change_is_made_where_it_belongs, 0, sizeof mend / sizeof *mend);
}

int main(void) { return suite_main("mended_text", add_tests); }
