"""How fast a fill uses up its free chlorine, how far that is known, and what follows from it.

The model, followed by a bootstrap particle filter (Gordon, Salmond and Smith, IEE Proceedings F
140(2):107, 1993):

1. States, mg/L as Cl2: free chlorine, a fast and a slow demand that wait in the water. Chlorine
   reacts with each by second order and is lost to air and light by first order; rates of Abnavi
   et al. 2021 (0.0133 L/(mg min)), fast and slow as in Clark 1998 (see ``kinetics``).
2. Traits, constant but for a little jitter (Liu and West 2001), logarithmic: demand by the kilogram
   (spread 0.7 to 1), fast share (0.8), fast and slow rate (0.8, 0.5), loss (0.6), strength of the
   product against what is said of it (0.2 of a label; what a date or a test leaves open), bias of
   a pack of strips (0.067), of the person who reads it (0.06) and of kit or meter (0.03). Values
   from memory where no source stands beside them in ``prior`` and ``memory``.
3. A batch brings its weight times the demand, 0.24 from batch to batch (common practice); the
   demand drifts by 0.015, by 0.15 with a new lot, and jumps by 1 in one batch of forty and one
   lot of ten: so it follows other produce. A lot that returns, or produce that was washed before,
   begins with its own demand. A weight far from the others' median is a slip.
4. A dose raises by the label or the dated strength times the trait, 0.04 in pouring; an exchange
   dilutes.
5. Likelihood of a number: Student's t of five degrees about the level times the bias; of a strip:
   that of its pad, between the half ways to the next ones, by a logistic eye (from memory).
6. A reading that surprises is explained by five stories, mixed by how likely each is: a dose or an
   exchange nobody wrote down, a water quite other than believed, a slip, mere chance.
7. Particles are resampled (systematic) when the effective sample size falls under half of them.
8. Chances that past batches met too little are those of the particles' lines of descent
   (Kitagawa 1996), so later readings change them.
9. Looked ahead is with a few hundred equally likely particles and common random numbers; chance
   belongs to the events alone. The next check comes where its cost and that of being late are
   least together.
10. What shifts told (``learning``) is carried to the next as particles, rows of people, lots and
    produce among them, as much less sure as days, containers and packs differ. They stand in its
    journal, so a replay is equal to the live shift, seed for seed.

Libraries weighed: ``particles``, ``filterpy`` (neither keeps lines of descent through mixed moves,
and either is more to wrap than the lines it saves), the Kalman filter of statsmodels (it is the
check in the tests; pads and stories are far from normal). ORP and turbidity are not used:
DEVELOPERS.md says what they would add.
"""
