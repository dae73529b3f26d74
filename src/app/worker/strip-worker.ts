import { createGpuJsBackend } from '../../kernels/gpu-js.ts';
import { type StripQuestions, stripAnswerers } from '../../sim/pool.ts';
import { serveQuestions } from '../remote/serve.ts';

serveQuestions<StripQuestions>(stripAnswerers(() => createGpuJsBackend('cpu', 'in a worker')));
