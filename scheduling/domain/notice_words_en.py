"""The monthly notice and its letter in English."""

from __future__ import annotations

from typing import Final

from scheduling.domain.notice_words import (
    ControllerWords,
    LetterWords,
    NoticeWords,
    SettingWords,
    SubjectWords,
    TableWords,
    TimeWords,
    WatchWords,
    WhyWords,
    by_system,
)

_TIMES: Final = TimeWords(
    months=(
        "January", "February", "March", "April", "May", "June",
        "July", "August", "September", "October", "November", "December",
    ),
    weekdays=("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"),
    date=by_system(us="{month} {day}", metric="{day} {month}"),
    time=by_system(us="{hour_of_half}:{minute:02}\u00a0{half}", metric="{hour:02}:{minute:02}"),
    halves=("AM", "PM"),
)  # fmt: skip

_SETTINGS: Final = SettingWords(
    off="off",
    daily="daily",
    every_days="every {days} days",
    every_days_from="every {days} days, first on {date}",
    odd="odd dates",
    even="even dates",
    list_gap=", ",
    minutes="{minutes} min",
    minutes_each_start="{minutes} min at each start",
    cycles="{minutes} min ({cycles} x {cycle} min, {soak} min apart)",
    cycles_in_a_row="{minutes} min ({cycles} x {cycle} min)",
    times_a_day="{times} times a day",
    percent="{percent} %",
    no_starts="none",
)

_SUBJECTS: Final = SubjectWords(
    subject="{heading}: {place}",
    more="Water more in {month}",
    less="Water less in {month}",
    other="New settings for {month}",
    off="Switch off for {month}",
    first="Your settings for {month}",
    asked="A question about your settings for {month}",
    own="Our numbers for {month}",
    same="Watering stays as it is in {month}",
)

_WHYS: Final = WhyWords(
    same=(
        "{month} asks for as much as {before}: on a usual day the air takes {depth} of water from "
        "a lawn."
    ),
    warmer=(
        "It gets warmer: on a usual day in {month} the air takes {depth} of water from a lawn, "
        "{percent} % more than in {before}."
    ),
    cooler=(
        "It gets cooler: on a usual day in {month} the air takes {depth} of water from a lawn, "
        "{percent} % less than in {before}."
    ),
    set_too_much="Until now more is set than the garden needs.",
    set_too_little="Until now less is set than the garden needs.",
    asked="You set {controllers} yourself: please look whether it still suits.",
    left_alone="You set {controllers} yourself, and we leave it so.",
    nothing="Nothing has to be changed on the controller.",
    zones=(
        "Please change one zone on the controller.",
        "Please change {count} zones on the controller.",
    ),
    settings=(
        "Please change the one setting listed below.",
        "Please change the {count} settings listed below.",
    ),
    first="Below stands what to set.",
)

_CONTROLLERS: Final = ControllerWords(
    by_hand="By hand",
    program="{controller}, program {program}",
    other_zones="{controller}, other zones",
    nothing="Nothing to change: it is set right for {month}.",
    unknown=(
        "We have no note of what this controller is set to. Set it so, and switch every other "
        "program off."
    ),
    found="We found it so on {date}. What is not listed stays as it is.",
    set_by_us="We set it so on {date}. What is not listed stays as it is.",
    our_notice=(
        "It should be set as our notice for {month} said; if it shows anything else, tell us. What "
        "is not listed stays as it is."
    ),
    asked=(
        "You changed this controller yourself on {date}. Is it still set so, and does the garden "
        "look well with it? If you would rather go by our numbers, they are:"
    ),
    left_alone=(
        "You set this controller yourself on {date}, and we leave it so. If you would rather go by "
        "our numbers for {month}, they are:"
    ),
    his_suits="You set this controller yourself on {date}. It suits {month}: nothing to change.",
    totals="Together its zones then run {after} minutes a week, instead of {before}.",
    estimated="Estimated: these zones have not been measured with cups yet.",
    first_zones="Set each zone so:",
)

_TABLES: Final = TableWords(
    zone="Zone",
    before="In {month}",
    after="From {date}",
    what="What",
    was="It was",
    set_to="Set it to",
    is_now="As you set it",
    ours="By our numbers",
    as_before="as before",
    new="new",
    percent="Seasonal percentage",
    days="Days",
    starts="Start times",
    zone_of_program="Zone {zone}",
    zones_of_program="Zones {first} to {last}, each",
    estimated="{zone} (estimated)",
)

_WATCH: Final = WatchWords(
    heading="What to watch",
    drier=(
        "Grass that stays flat where you walked, or turns bluish, says that it is too little; "
        "thirsty plants draw insects."
    ),
    wetter=(
        "Mushrooms, moss or soil that stays soft say that it is too much; too much water helps "
        "disease."
    ),
    first_run=(
        "Look at the first run after the change: where water runs off or falls on walks and walls, "
        "stop it and tell us."
    ),
    off=(
        "From then on nothing should run. Water by hand what was planted lately if no rain falls "
        "for weeks."
    ),
    rules=(
        "Local watering rules, on days and hours, bind over any number here. When it has rained "
        "well, leave out the next watering."
    ),
    entry="Set the sprinklers for {month}",
    entry_more="{place}. What to set stands in the watering notice.",
)

_LETTER: Final = LetterWords(
    greeting="Dear {name},",
    why="You get this because you agreed to watering notices.",
    why_of_place="You get this because you agreed to watering notices for {address}.",
    why_staff="You get this because you work here.",
    stop="To stop these notices:",
    stop_link="Stop these notices",
)

WORDS: Final = NoticeWords(
    language="en",
    times=_TIMES,
    settings=_SETTINGS,
    subjects=_SUBJECTS,
    whys=_WHYS,
    controllers=_CONTROLLERS,
    tables=_TABLES,
    watch=_WATCH,
    letter=_LETTER,
)
