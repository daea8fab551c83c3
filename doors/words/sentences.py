"""The outcomes of checks and the steps of the work as sentences; figures stand in braces."""

from __future__ import annotations

from django.utils.translation import gettext_lazy as _

from doors.words.names import Words

REASONS: Words = {
    "missing": _("Not checked: {field} is missing."),
    "in_range": _("{width} wide lies within the usual {least} to {most} of a hand-cranked film door."),
    "narrow": _("{width} is narrower than the usual {least}: a hinged or sliding door may serve better."),
    "too_wide": _("{width} is wider than {most}, the most for a hand-cranked film door."),
    "studs_inside": _("Both jamb studs stand inside the wall, {left} and {right} from its corners."),
    "stud_outside": _("A jamb stud, {stud} wide, would stand outside the wall: {left} left, {right} right."),
    "arch_clear": _("The frame is {left} high at the left jamb and {right} at the right; {needed} is needed."),
    "arch_low": _(
        "The frame is {left} high at the left jamb and {right} at the right, but the opening and its {headroom} "
        "headroom need {needed}: {short} too low."
    ),
    "passes": _("{machine} passes with {side} at each side and {over} overhead."),
    "tight": _(
        "{machine} passes with {side} at each side and {over} overhead; {side_good} and {over_good} are recommended."
    ),
    "too_tight": _(
        "{machine} has {side} at each side and {over} overhead; at least {side_least} and {over_least} are needed."
    ),
    "corner_free": _("No roll-up side has its operator at the {side} corner."),
    "clash": _(
        "The side operator at the {side} corner travels up to {travel}; the bar rests at {rest}, in its way. "
        "Move the drive or the operator to another corner."
    ),
    "close": _(
        "The bar rests at {rest}, only {gap} above the travel of the side operator at the {side} corner; {wanted} "
        "is wanted."
    ),
    "above_operator": _("The bar rests at {rest}, {gap} above the side operator's travel at the {side} corner."),
    "clear": _("The opening and its bar keep clear of the others in this wall."),
    "overlaps": _("The opening with its jambs overlaps {other} by {overlap}."),
    "bar_across": _("The turning bar would lie across {other} and block it: put the drive on the other side."),
    "one_piece": _("{length} comes in one piece from stock of {stock}."),
    "two_pieces": _("Two pieces, {left} and {right}, from stock of {stock}; the joint is clear of every clamp."),
    "three_pieces": _("{length} needs more than two pieces of {stock}: choose longer stock."),
    "no_clear_place": _("No joint is clear of the clamps by {gap} with stock of {stock}: choose longer stock."),
    "clamps_on_bar": _("The outer clamps sit {outer} past the opening; bars and film reach at least {least} past it."),
    "clamps_off_bar": _(
        "The outer clamps sit {outer} past the opening, but a bar or the film ends {least} past it: let it reach "
        "further, or choose narrower jamb studs."
    ),
    "stock_short": _("{part}: {length} in one piece, but its tube comes in {stock}. Choose longer stock."),
    "runs_down": _("A roll {roll} wide covers the panel's {width}; cut {run} of it."),
    "runs_across": _("A roll {roll} wide covers the panel's {height} laid across the door; cut {run} of it."),
    "no_roll_wide_enough": _("The panel is {width} by {height}; the widest roll in the book is {widest}."),
    "film_enough": _("{below} hangs below the threshold; the first trim leaves {first_trim}."),
    "no_first_trim": _(
        "Only {below} hangs below the threshold: enough for {take_up} of take-up, but skip the first trim."
    ),
    "film_too_short": _("Only {below} hangs below the threshold and {least} is needed: allow more film."),
    "rod_reaches": _("The rod is {rod} long; header, tube and all nuts take {needed}."),
    "one_nut_only": _("The rod is {rod} long: enough for one nut behind the tube ({one_nut}), not for two ({needed})."),
    "rod_too_short": _("The rod is {rod} long but {one_nut} is needed: choose a longer rod."),
    "nuts_crowded": _(
        "Between header and tube there is {room} for nuts and washers that take {stack}: set the tube further out."
    ),
    "no_strip": _("The bar runs {overhang} past its last clamp, within {limit}: no strip is needed."),
    "strip": _(
        "The bar runs {overhang} past its last clamp and sags there: a strip {strip} long with two clamps carries it."
    ),
    "strip_has_no_frame": _(
        "The bar runs {overhang} past its last clamp and sags there, but the frame is too low beside the drive to "
        "hang a strip from: add a bracket or a post."
    ),
    "inner_supports": _(
        "{width} is wide: anti-billow tubes and studs between the jambs, {count} of each, {spacing} apart. They stand "
        "in the way, so make them to lift out, and put them in before wind."
    ),
    "leaf_fits": _("Each leaf is {width} by {height}; the door has {count}."),
    "leaf_too_wide": _(
        "A leaf {width} wide is more than the {most} that this kind of door carries: choose another kind."
    ),
    "leaf_too_small": _("A leaf of {width} by {height} leaves no room for its frame; {least} is the least."),
    "side_room": _("The panels slide clear: {left} and {right} of wall for {panel} each."),
    "square": _("The diagonals, {first} and {second}, agree within {tolerance}."),
    "out_of_square": _(
        "The diagonals, {first} and {second}, differ by {apart}: bring the frame square within {tolerance} before "
        "anything is cut."
    ),
    "diagonals_odd": _(
        "The diagonals agree, {first} and {second}, but width and height make {square}: measure all four once more."
    ),
    "exit_in_this_wall": _("A person door stands in this wall."),
    "exit_in_other_wall": _("A person door stands in the tunnel's other end wall."),
    "no_exit": _(
        "The tunnel has no person door, and a large door is no way out once it is closed. Plan a side-hinged one that "
        "opens outwards from inside."
    ),
    "windward": _(
        "This wall faces the storm wind ({degrees}° off it): a standing weakness. Shut and hold this door first, and "
        "where you may choose, give the next large door the lee end."
    ),
    "lee": _("This wall is turned {degrees}° away from the storm wind."),
    "enough_wall": _("{left} of wall stand left of the opening and {right} right of it."),
    "little_wall": _(
        "Only {left} of wall stand left of the opening and {right} right of it. {least} at each side brace an end wall "
        "better."
    ),
    "as_wide_as_needed": _("{clear} clear for {needed}, which {machine} needs with its margins."),
    "wider_than_needed": _(
        "{clear} clear, {over} more than the {needed} that {machine} needs with its margins. An opening {enough} wide "
        "would do: it costs less and stands more wind."
    ),
    "no_side_room": _(
        "A panel of {panel} needs as much wall beside the opening; there is {left} left and {right} right."
    ),
}
STEPS: Words = {
    "measure": _(
        "Measure the rough opening: width {width} in three heights, height {height} in three places, both diagonals "
        "{diagonal} and alike within {tolerance}."
    ),
    "channel": _(
        "Screw film channel to the header ({header}) and to both jamb studs ({jamb}): screws {inset} from each end "
        "and at most {spacing} apart."
    ),
    "header_holes": _(
        "Drill {count} holes through the header, {height} above the threshold; the outer two {inset} in from the "
        "jambs, so that the channel on the stud stays free."
    ),
    "guide_post": _(
        "Set the guide post on the {side}, parallel to the hoop's side: {length} long, {embedment} in the ground, its "
        "top {above} above the header. Have buried lines marked before you dig or drive."
    ),
    "hang_film": _(
        "Cut the film {width} wide and {height} high. Hang it level from the header channel with {above} above and "
        "{side} past each side of the opening. {below} hangs below; trim it to {first_trim}."
    ),
    "lines": _(
        "Draw two lines across the film: the first at half height, {rest} above the threshold, the second {drop} "
        "lower at {clamps}."
    ),
    "prepare_bar": _(
        "Cut the turning bar to {length}{joint_words}. The drive end, on the {side}, reaches {drive_end} past the "
        "structure's side; the free end {free_end} past the opening."
    ),
    "clamp_bar": _(
        "{people} people lift the bar; another person or trestles hold it, and someone holds the ladder. Put on "
        "{count} clamps with their upper edge on the second line, {line} above the threshold: the outer ones "
        "{outboard} outboard of the jamb studs, {spacing} apart. Fasten none for good yet."
    ),
    "clamp_bottom_bar": _(
        "{people} people hold the bar at the threshold. Wind {wraps} turns of film on it and put on {count} clamps: "
        "the outer ones {outboard} outboard of the jamb studs, {spacing} apart. Fasten none for good yet."
    ),
    "drive": _(
        "Push the round adapter into the bar's {side} end, bolt it through (7/16 in socket on the lock nut), set the "
        "gearbox on it and let it ride on the guide post."
    ),
    "strip": _(
        "Hang the film strip, {width} wide and {length} long, from the frame beside the gearbox; two clamps hold "
        "the bar."
    ),
    "sill_bar": _(
        "Flatten the sharp ends of the sill bar's channel. Screw it along the bar ({length}, {past} past both jamb "
        "studs): screws {inset} from each end and at most {spacing} apart. Fix the film's lower edge in it."
    ),
    "test_roll": _(
        "Test roll: wind up until any bar touches the header, twice, and level the bars. Expect {open} turns of the "
        "bar{crank_words}, a roll {diameter} thick and {clear_height} clear height. Keep everybody from under it."
    ),
    "trim": _(
        "Trim the film to {above} above the header channel and {below} past the lower bar; put one screw in every "
        "clamp."
    ),
    "billow_tubes": _(
        "Set {count} anti-billow tubes, {length} long, {embedment} in the ground, their middle {stand_off} in front of "
        "the threshold. Drill each {hole} from its top. Tie with threaded rods: nut and washer inside; washer and two "
        "nuts outside the header; washer, tube, washer and two nuts (one will do)."
    ),
    "lock": _("Lay spring wire ready for both jamb channels ({jamb} each): it locks the film before a storm."),
    "record": _(
        "Write down who hung it and when, take a photo, and re-tighten every screw after 24 to 72 hours and after "
        "30 days."
    ),
    "build_leaf": _("Leaves to build: {count}. Each is {width} by {height}, square, with a brace in each half."),
    "hang_person": _(
        "Hang the leaf to open outwards, {gap} clear at the sides and head and {floor} at the floor. The latch must "
        "open from inside with gloves on, without a key."
    ),
    "hang_pair": _(
        "Hang both leaves, {gap} clear at the sides, middle and head and {floor} at the floor; bolt one top and "
        "bottom."
    ),
    "hang_sliding": _(
        "Fix the track, {track} long, level over the opening; the panels lap the jambs by {lap}. Fit floor guides."
    ),
    "hang_panel": _("Stand the panel in the opening, lapping it by {lap}, and hold it with turn buttons all round."),
    "coil": _("Fit the coil door of {width} by {height} as its maker says; it needs {headroom} above the opening."),
}  # fmt: skip
