"""What the help says about places and widgets. Plain words; the keys come from `keys`."""

from __future__ import annotations

from collections.abc import Mapping

PLACES: Mapping[str, str] = {
    "engines": (
        "Every engine of this book, the one run last first. Best is the best corrected band"
        " average of any pull that counts, under the standard of the engine's newest session; a"
        " peak only where there is no average. Engines may run under different standards: what is"
        " best of two is for Compare to say."
    ),
    "sheet": (
        "The engine's sheet with its limits, its builds and its sessions. Limits on the sheet are"
        " shown beside every timing; without them nothing warns."
    ),
    "session": (
        "The pulls of this visit to the cell, newest first, and the answer for the chosen one."
        "\n\n▲ gain   ▼ loss   = nothing worth having   ? not settled or leaning"
        "\n\nThe large figure is the change of the set-up from the baseline, of all its pulls"
        " together and corrected to the session's standard; the list has what each pull differs by"
        " alone, with the sign of its set-up. 95 % is the interval it lies"
        " in. An assumed noise is a guess for this kind of"
        " cell until repeats of this session say better. The difference curve comes first: where"
        " the shaded band lies clear of the zero line, the change is real at that speed."
        "\n\nThe foot says what the next pull will be. + and − move its timing, f changes its"
        " fuel, p opens its form, o takes a trace file; Enter logs. In the list of files w watches"
        " the folder: what lands there waits here by itself, one file after the other. A key"
        " pressed within 0.7 s of a landing accepts nothing. Del lets a file wait no longer."
        " A file whose columns its header does not explain waits too: Enter asks what they are."
        "\n\nn shows the plan, or makes one; d sets the next pull up as the plan says."
    ),
    "large": (
        "The answer for one pull, as large as it fits: the change of its set-up from the baseline,"
        " corrected. ▲ gain   ▼ loss   = nothing worth having   ? not settled or leaning. What"
        " somebody else enters shows within a second."
    ),
    "build sheet": (
        "What is in this build, system by system, beside the build it was copied from."
        "\n\n+ not in the parent   ≠ changed   * another part, or reworked   − left out"
        "\n\nAll numbers of an item share one unit. Reclaimed is a part that was dressed back"
        " within tolerance and kept; what is rejected does not go over into the next build. An"
        " item is found by search: part:ring, or any word of it."
    ),
    "item": (
        "A value with its unit, or words; a value for every cylinder with blanks between, - for"
        " what was not measured; a tolerance such as 0.30..0.40 mm, ..0.05 mm or 0.30 mm... All"
        " numbers of an item are in one unit: a bare one takes the unit typed beside it."
    ),
    "inspections": (
        "Leak-down and cranking compression of every cylinder, lash, plugs, clearances, newest"
        " first. ⚠ a cylinder that stands apart from its neighbors on the bad side, by far more"
        " than they differ among themselves."
        "\n\n✓ within its limit   ~ reclaim: dressed back within tolerance and kept   ✗ reject"
    ),
    "attached": (
        "Photos, sheets and other files on the engine, its builds, inspections and sessions. n adds"
        " one to what this list was opened for. Each is kept under its hash in a folder beside the"
        " book; ⚠ is not there any more. What is taken off stays in the folder, so that u brings it"
        " back."
    ),
    "due": (
        "What the shop wants looked at: ⚠ due, ! soon (nine tenths used up), ✓ not yet. Pulls that"
        " were excluded count too, the engine has run them. Minutes are those that were recorded;"
        " of pulls without a time channel none are, and that is said."
    ),
    "cell sheet": (
        "What the cell's instruments read against references. ✓ within tolerance   ✗ out of it"
        "   ⚠ due again. Percentages are of the span, the width of the references. The last of each"
        " instrument stands: a pull carries the one that stood when it was taken, and says so"
        " where that was overdue or out of tolerance."
        "\n\nThe line and the parabola are fitted to the readings over the references. Span error"
        " is the line's slope less 1, linearity the farthest reading from it, hysteresis falling"
        " less rising at one reference. v draws what is left over of the line, of the parabola,"
        " or of the reference itself with the tolerance: a bow means the parabola, a step between"
        " ▲ and ▽ friction."
        "\n\nA load cell found wrong afterwards can be put right on earlier pulls with"
        " `logbook calibration apply`: what it showed stays, u takes it back. Dead weights only"
        " with the engine locked out."
    ),
    "safety": (
        "Checked off before the first loaded pull, for the session that is open in this cell. What"
        " is left unchecked stays on the session's header."
    ),
    "checks": (
        "What was measured on this build against its tolerances. ✓ in   ~ reclaim: can be dressed"
        " back within tolerance   ✗ out   · no limit on the sheet."
        "\n\nComputed from items of these names: bore (or bore top thrust, bore bottom pin …),"
        " skirt, top ring gap, second ring gap, Ra, Rk, Rpk, Rvk, chamber, deck, gasket thickness,"
        " gasket bore, dish, dome, valve pockets, crevice. Limits stand on the item of the"
        " measure's name: piston clearance, taper, out of round, compression ratio, displacement;"
        " how far it is reclaimed on one called the same and “reclaim”. A top ring gap rule is the"
        " shop's own, in thousandths of an inch per inch of bore; without one common practice is"
        " taken, and said to be that. Leak-down and cranking compression"
        " come from the newest inspection, their limits from items leak-down, leak-down spread,"
        " cranking compression, cranking spread. Every other item with a tolerance is judged as"
        " written."
    ),
    "fuels": (
        "Every batch on file. Figures of the data sheet go before those computed from the"
        " composition; each says where it came from. Densities are shown at 20 °C (68 °F), so that"
        " two fuels can be compared."
        "\n\nEnter marks the fuel in the tank; the next one chosen is set against it: fuel for the"
        " same lambda, jets to begin with, energy in each kg of air. Jets are a starting point"
        " (common practice, no source): begin at least 5 % richer and watch lambda."
    ),
    "fuel": (
        "One batch from its data sheet; race fuel ages, so a new drum is a new batch. A density"
        " needs the temperature it was measured at. Atoms are counted per molecule or per carbon:"
        " gasoline 1 and 1.87, methanol 1, 4 and 1 oxygen. What is not known stays empty."
    ),
    "calibration": (
        "Pairs as reference:reading with blanks between, in the order they were taken, up and"
        " down again: 0:0.1 100:100.2 200:200.3 100:100.1 0:0.1. With weights on the arm the"
        " references are their masses; torque is computed with the gravity of the place and the"
        " buoyancy of air. Dead weights only with the engine locked out."
    ),
    "years": (
        "One value a session, the median of its pulls, or an inspection. ─ is the mean of the"
        " newest build, ┄ the control limits, 2.66 mean moving ranges from it; only steps within a"
        " build count, and every build is set against its own mean. ⚠ the last value is beyond"
        " them, its step from the one before is too wide, or the last eight lie on one side. ↗ ↘"
        " the slope within builds is beyond chance."
        " · too few values. = within its limits."
        "\n\nPowers stand beside each other under one standard only. A rebuild, another vacuum"
        " pump or oil moves a measure too: what a shift is due to is for you to say."
    ),
    "timing": (
        "From the pulls that differ in timing only. The large figure is the timing to pull next,"
        " or the choice where a further pull is not worth its oil. The best and its interval come"
        " from the data alone. Advice never passes the engine's limit, nor 2° beyond a timing at"
        " which somebody checked for knock and heard none. Back off and stop at any knock."
    ),
    "ledger": (
        "Every step from the baseline to the last set-up; they sum exactly to the total. A step"
        " with more than one changed factor is a bundle: its worth belongs to all of them."
        " Below, every factor by all pulls, and what the pulls cannot tell apart."
    ),
    "plan": (
        "The pulls of the accepted plan in their order, each measured against the baseline; ✓ is"
        " made, · still to make, ▶ the next. A pull checks itself off by its set-up, in any order,"
        " but pulls on end are one visit: three of the baseline do not stand for going back to it,"
        " which takes out drift. A smaller gain than the smallest named may be real and stay not"
        " settled. The judgement works with whatever was pulled. An alarm, knock on the last pull"
        " or a used up budget stops the plan; ⚠ needs a look before it is pulled."
    ),
    "plan form": (
        "A line for every change to try, each from the baseline: timing 34, or timing=34. Several"
        " factors with commas are one change, a bundle. A factor with nothing behind its = is taken"
        " away. F6, or a ! at the end, marks what is hard to change: it is set up once, at the end."
        " The plan stands below as you type; more pulls find smaller gains. Ctrl+S accepts it."
    ),
    "pull form": (
        "Everything is carried forward from the pull before; what you touch is marked ● with what"
        " it was. An emptied factor is taken away. A value may bring its own unit: 29.5 inHg,"
        " 749 mmHg, 310 lb-ft. Without a trace type the peaks; Enter on the last one logs."
        "\n\nSpeeds and torques (F2): a short table read off a paper chart, each point as"
        " rpm torque, points parted by a semicolon, headed by their units: rpm lb-ft; 4000 310;"
        " 4500 322."
        "\n\nWhat was typed survives a power cut and is offered back."
    ),
    "air": (
        "Station pressure is what the cell's barometer reads; a weather service's pressure is"
        " reduced to sea level and is the commonest error in a cell. Temperature is that of the"
        " air entering the carburetor, shielded from the header's heat: 10 °F is 2 % of the air's"
        " density and 1 % of corrected power."
        " What is not typed is taken from the reading before, as long as that is not stale."
    ),
    "opening": (
        "A session is one visit to the cell with one engine in one build. The band is the range"
        " of speeds that counts for this engine's work; averages over it are judged, not peaks."
        " What is left unchecked on the safety list stays on the session's header."
    ),
    "history": (
        "Words match the start of words in notes, purpose, fuel, set-up, engine, owner, build."
        "\n\nengine:RB-2   fuel:tango   timing:>30   timing:28..32   power:>200hp   date:2026-03.."
        '   build:4   note:plug   excluded:yes   "a phrase"   -word leaves out'
        '\n\nAny factor of a set-up is a field by its own name: "main jets":82.'
    ),
    "sides": (
        "The right side measured from the left one, in the pair of set-ups that tells most: pulled"
        " on most days, and differing in what was seen alone. ▲ gain  ▼ loss  = nothing worth"
        " having  ? not settled."
        "\n\nThe large figure is the rebuild by itself: all of the difference less what each other"
        " change was worth where it was made alone, on this engine or a sister. The band holds how"
        " the cell reproduces from day to day, the noise of every session used, and how far a"
        " change's worth carries from engine to engine. Power adds up to the total; percentages"
        " compound. Nothing here is final: years apart nothing was bracketed."
        "\n\nA change that was never made alone cannot be told from the rebuild. Until you say"
        " more (a), it is only assumed to have lost nothing by itself, which says at most."
    ),
    "assume": (
        "The least and the most, in percent, that each of these can have brought by itself, such"
        " as 0..2. Empty: it is only assumed to have lost nothing. Nothing is stored."
    ),
    "compare": (
        "The right pull measured from the left one, both corrected to the same standard whatever"
        " they were logged under. Within a session the difference is judged; between sessions it"
        " is shown without a verdict, for the cell repeats much better within a day."
    ),
    "files": "Folders and files, the newest file first. Nothing is read until you choose it.",
    "columns": (
        "What the header does not say. Choose a column and say what it is and in which unit; the"
        " line at the foot shows how the file would then be read, so that a wrong unit shows in"
        " its peaks. s remembers it: the next file with this header goes in unasked. Power can be"
        " left out where there is torque. m on the session opens this again for a trace that waits."
    ),
    "edges": (
        "The trace against sample; what is shaded is taken as the pull. The keys move one edge,"
        " Tab goes over to the other. What the pull's figures would become stands below beside"
        " what they are. A finished pull asks why; the old edges stay in the history, and u takes"
        " it back. Samples of another pull are never taken twice."
    ),
    "edges why": "The reason stands in the history beside the old and the new edges.",
    "exclude": "The pull stays in the list with its reason and counts for nothing until x again.",
    "standard": (
        "Numbers corrected to different standards are not comparable: the older 60 °F standard"
        " reads about 4 % higher than the 77 °F one. Every figure of this session is computed anew."
    ),
    "engine": "Only the tag is needed; all else can be entered later. Limits warn, so enter them.",
}
WIDGETS: Mapping[str, str] = {
    "entry": "type a value, with its own unit if you like; an error stands beside it at once.",
    "pulls": "The pulls of the session: ↑ ↓ choose, the answer follows.",
    "engines": "The engines: ↑ ↓ choose, Enter goes on with the session or opens one.",
    "box": "The search box: results follow as you type; ↑ ↓ choose, Enter opens.",
}
